/* Every answer is saved as it is given, and said to be saved only once the server has said so.
   Without this script the buttons of the form save. Each change of a question carries a number
   that counts up, so that an older one on its way never overwrites a newer; each request a key,
   so that sending it again after a lost connection is the same as sending it once. */

const form = document.querySelector("[data-autosave]");
if (form && form.querySelector("[data-ack]")) keepSaving(form);

function keepSaving(form) {
  const ack = form.querySelector("[data-ack]");
  let sequence = Number(form.dataset.sequence);
  let held = answer(form); // what the server has, or what was shown before anything was touched
  let touched = false;
  let waiting = null; // timer of a save to come
  let sending = null; // the request on its way
  let retry = 0;

  for (const kind of ["input", "change"]) form.addEventListener(kind, () => soon(kind));
  // Things put in order are moved by buttons, which tell nobody.
  form.addEventListener("click", (event) => {
    if (event.target.closest(".pick__move")) setTimeout(() => soon("change"));
  });
  form.addEventListener("submit", () => {
    clearTimeout(waiting);
    if (!touched) note(form, "untouched", "1");
    form.elements.sequence.value = String(sequence + 1);
    form.elements.key.value = newKey();
  });
  window.addEventListener("online", () => send());
  // A page brought back from the browser's memory may be behind the server.
  window.addEventListener("pageshow", (event) => event.persisted && location.reload());

  function soon(kind) {
    touched = true;
    if (answer(form) === held && !sending) return;
    say("Saving …");
    clearTimeout(waiting);
    waiting = setTimeout(send, kind === "input" ? 600 : 0);
  }

  async function send() {
    clearTimeout(waiting);
    const now = answer(form);
    if (sending || now === held) return;
    sequence += 1;
    sending = { answer: now, body: body(form, sequence), sequence };
    while (sending) {
      try {
        const reply = await fetch(form.action, {
          method: "POST",
          body: sending.body,
          headers: { Accept: "application/json" },
          redirect: "error",
        });
        if (reply.status >= 500) throw new Error(await reasonOf(reply));
        const told = await reply.json();
        held = sending.answer;
        retry = 0;
        sending = null;
        acknowledge(told);
      } catch (trouble) {
        const why = trouble instanceof TypeError ? "no connection." : trouble.message;
        retry = Math.min(retry + 1, 5);
        say(`Not saved yet: ${why} Trying again, time ${retry}. Keep this page open.`, true);
        await new Promise((done) => setTimeout(done, 1000 * 2 ** retry));
      }
    }
    if (answer(form) !== held) send();
  }

  function acknowledge(told) {
    if (!told.saved) {
      say(`Not saved: ${told.problem} ${told.remedy}`, true);
      return;
    }
    say(`Saved at ${told.at} UTC${told.note ? `, but it cannot be marked as it stands: ${told.note}` : ""}`);
    const mark = form.querySelector(`[data-tab="${form.dataset.number}"]`);
    if (mark) mark.textContent = mark.textContent.replace("open", "saved");
    const count = document.querySelector("[data-count]");
    if (count) count.textContent = `${told.answered} of ${told.questions} answered`;
  }

  function say(words, wrong = false) {
    ack.textContent = words;
    ack.classList.toggle("ack--wrong", wrong);
  }
}

async function reasonOf(reply) {
  const told = await reply.json().catch(() => ({}));
  return told.problem || "the server could not do it.";
}

function fields(form) {
  const meant = /^(choice|number|place|ahead|(place|partner)-\d+)$/;
  return [...new FormData(form)].filter(([name, value]) => meant.test(name) && value !== "");
}

function answer(form) {
  return JSON.stringify(fields(form));
}

function body(form, sequence) {
  const sent = new URLSearchParams(fields(form));
  sent.set("csrf_token", form.elements.csrf_token.value);
  sent.set("sequence", String(sequence));
  sent.set("key", newKey());
  return sent;
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function note(form, name, value) {
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = name;
  field.value = value;
  form.append(field);
}
