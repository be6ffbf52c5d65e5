/* The sheet's form, live: what is typed goes to the server's check, and findings and figures come
   back beside the fields. Without this script the button "Check and draw" does the same. */

const REST = 600; // ms without typing before the server is asked
const SAID = { error: "Error", warning: "Warning", "cannot be read": "Cannot be read" };

class LiveForm {
  constructor(form) {
    this.form = form;
    this.beside = form.querySelector(".beside");
    this.asked = 0;
  }

  listen() {
    this.form.classList.add("editing--live");
    this.form.addEventListener("input", (event) => this.typed(event.target));
    this.form.addEventListener("focusin", (event) => this.show(event.target));
    this.form.addEventListener("submit", () => { this.sent = true; });
    this.form.addEventListener("click", (event) => this.follow(event));
    window.addEventListener("beforeunload", (event) => this.keep(event));
  }

  typed(target) {
    if (target.name !== "show") this.changed = true;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.check(), target.name === "show" ? 0 : REST);
  }

  /* Draw the drive that is being worked on. */
  show(target) {
    const drive = /^drives\[(\d+)\]/.exec(target.name ?? "");
    const choice = this.form.querySelector("[name=show]");
    if (!drive || !choice || choice.value === String(drive[1] - 1)) return;
    choice.value = String(drive[1] - 1);
    this.typed(choice);
  }

  /* Open the section that a finding's link leads into. */
  follow(event) {
    const link = event.target.closest("a[href^='#']");
    const target = link && document.getElementById(link.hash.slice(1));
    const section = target?.closest("details.section");
    if (section) section.open = true;
    if (target?.matches("input, select, textarea")) {
      event.preventDefault();
      target.focus();
    }
  }

  keep(event) {
    if (this.changed && !this.sent) event.preventDefault();
  }

  async check() {
    const turn = ++this.asked;
    this.beside.classList.add("beside--waiting");
    const answer = await this.ask();
    if (turn !== this.asked) return;
    this.beside.classList.remove("beside--waiting");
    if (answer) this.put(answer);
    else this.one("status").textContent = "Not checked: the server cannot be reached just now.";
  }

  async ask() {
    try {
      const answer = await fetch(this.form.dataset.check, {
        method: "POST",
        body: new URLSearchParams(new FormData(this.form)),
      });
      return answer.ok ? await answer.json() : null;
    } catch {
      return null;
    }
  }

  put(answer) {
    this.one("status").textContent = answer.status;
    this.one("findings").innerHTML = answer.findings;
    if (answer.figures !== null) this.one("figures").innerHTML = answer.figures;
    for (const place of this.form.querySelectorAll("[data-said]")) place.replaceChildren();
    for (const wrong of this.form.querySelectorAll("[aria-invalid]"))
      wrong.removeAttribute("aria-invalid");
    for (const one of answer.said) this.say(one);
    for (const section of this.form.querySelectorAll(".section")) this.count(section);
  }

  say({ at, severity, words }) {
    const place = document.getElementById(`said-${at}`);
    if (!place) return;
    const hinders = severity !== "warning";
    const said = document.createElement("p");
    const how = document.createElement("strong");
    how.textContent = `${SAID[severity]}:`;
    said.className = `said__one said__one--${hinders ? "wrong" : "look"}`;
    said.append(how, ` ${words}`);
    place.append(said);
    const control = document.getElementById(at);
    if (hinders && control?.matches("input, select, textarea"))
      control.setAttribute("aria-invalid", "true");
  }

  count(section) {
    const said = section.querySelectorAll(".said__one").length;
    section.querySelector("[data-count]").textContent = said ? `${said} to look at` : "";
  }

  one(name) {
    return this.form.querySelector(`[data-${name}]`);
  }
}

for (const form of document.querySelectorAll("form[data-check]")) new LiveForm(form).listen();
