/* Putting things in order by moving them up and down. Without this script each thing has a
   list of places; the lists stay in the form and are kept in step, so what is sent is the same. */

for (const list of document.querySelectorAll("[data-order]")) enhance(list);

function enhance(list) {
  const rows = [...list.children];
  // What was typed before (after an error) decides the order to begin with.
  rows.sort((one, other) => place(one) - place(other)).forEach((row) => list.append(row));
  const voice = document.createElement("p");
  voice.className = "unseen";
  voice.setAttribute("role", "status");
  list.after(voice);
  rows.forEach((row) => addButtons(row, list, voice));
  list.classList.add("picks--live");
  list.closest("fieldset").querySelector("legend").textContent =
    "Put in order, first at the top";
  number(list);
}

function place(row) {
  return Number(row.querySelector("select").value) || Infinity;
}

function addButtons(row, list, voice) {
  const name = row.querySelector("label").textContent.trim();
  const balloon = document.createElement("span");
  balloon.className = "balloon";
  const words = document.createElement("span");
  words.className = "pick__text";
  words.textContent = name;
  const buttons = document.createElement("span");
  buttons.className = "pick__buttons";
  for (const [way, sign, title] of [[-1, "↑", "Move up"], [1, "↓", "Move down"]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "pick__move";
    button.textContent = sign;
    button.dataset.way = way;
    button.setAttribute("aria-label", `${title}: ${name}`);
    button.addEventListener("click", () => move(row, way, list, voice, button));
    buttons.append(button);
  }
  row.querySelector("label").hidden = true;
  row.querySelector("select").hidden = true;
  row.prepend(balloon, words, buttons);
}

function move(row, way, list, voice, button) {
  const neighbour = way < 0 ? row.previousElementSibling : row.nextElementSibling;
  if (!neighbour) return;
  if (way < 0) neighbour.before(row);
  else neighbour.after(row);
  number(list);
  button.focus();
  const at = [...list.children].indexOf(row) + 1;
  voice.textContent = `${row.querySelector(".pick__text").textContent}: place ${at} of ${list.children.length}`;
}

function number(list) {
  [...list.children].forEach((row, index, rows) => {
    row.querySelector("select").value = String(index + 1);
    row.querySelector(".balloon").textContent = index + 1;
    row.querySelector('[data-way="-1"]').setAttribute("aria-disabled", String(index === 0));
    row.querySelector('[data-way="1"]').setAttribute("aria-disabled", String(index === rows.length - 1));
  });
}
