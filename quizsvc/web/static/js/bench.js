/* The timing bench by hand: looks up the server's motion table and moves the drawing's parts.
   No geometry of the engine is worked out here. Without this script the same form turns the
   bench step by step on the server. */

const CYCLE = 720;
const TOUCH = 0.2; // degrees nearer than which a valve counts as touching its piston
const QUIET = 450; // ms of rest before the state is read out

async function start(root) {
  const bench = new Bench(root);
  await bench.load();
  bench.listen();
  bench.draw();
  root.classList.add("bench--live");
  root.querySelector("[data-slide]").hidden = false;
}

class Bench {
  constructor(root) {
    this.root = root;
    this.turned = Number(root.dataset.turned);
    this.cylinder = root.dataset.cylinder;
    this.clockwise = root.dataset.clockwise === "yes" ? 1 : -1;
    this.form = this.one("[data-controls]");
    this.slider = this.one("[data-slider]");
    this.setting = this.settingOf(new FormData(this.form));
    this.tables = new Map();
    this.parts = [...root.querySelectorAll("[data-way]")].map(partOf);
    this.rings = [...root.querySelectorAll("[data-shown-if]")];
    this.reads = [...root.querySelectorAll("[data-read]")];
    this.strokes = [...root.querySelectorAll("[data-stroke]")];
  }

  one(selector) {
    return this.root.querySelector(selector);
  }

  /* What the server needs to know of the chains: fields of its address but for the crank. */
  settingOf(fields) {
    const setting = new URLSearchParams();
    for (const name of ["slip", "off", "moved"])
      for (const value of fields.getAll(name)) setting.append(name, value);
    return setting;
  }

  async load() {
    const key = this.setting.toString();
    if (!this.tables.has(key)) {
      const answer = await fetch(`${this.root.dataset.motion}?${key}`);
      this.tables.set(key, await answer.json());
    }
    this.table = this.tables.get(key);
    for (const line of this.root.querySelectorAll("[data-signal]"))
      line.setAttribute("d", this.table.signals[line.dataset.signal]);
  }

  get crank() {
    return Math.round(mod(this.turned, CYCLE) * 10) / 10 % CYCLE;
  }

  /* The table's value at the crank angle, between two rows in proportion. */
  value(name) {
    const column = this.table.columns[name.replace("*", this.cylinder)];
    const advance = 100 * (this.table.advances_deg[name] ?? 0);
    const place = mod(this.turned, CYCLE) / this.table.step_deg;
    const row = Math.floor(place) % column.length;
    const next = row + 1 < column.length ? column[row + 1] : column[0] + advance;
    let change = next - column[row];
    if (name.startsWith(this.table.wraps)) change = mod(change + 18000, 36000) - 18000;
    const cycles = Math.floor(this.turned / CYCLE);
    return (column[row] + change * (place % 1) + cycles * advance) / 100;
  }

  /* Turn by hand; the crank stops where a valve meets its piston. */
  turn(by) {
    const way = by < 0 ? -1 : 1;
    let left = Math.abs(by);
    let stop = null;
    for (const contact of this.table.contacts) {
      if (inside(contact, this.crank)) continue;
      const begin = way > 0 ? contact.from_deg : contact.to_deg;
      let ahead = mod(way * (begin - this.crank), CYCLE);
      if (ahead > CYCLE - TOUCH) ahead = 0;
      if (ahead < left) [left, stop] = [ahead, contact];
    }
    const to = this.turned + way * left;
    const tenths = way > 0 ? Math.floor(to * 10 + 1e-6) : Math.ceil(to * 10 - 1e-6);
    this.turned = (stop ? tenths : Math.round(to * 10)) / 10;
    this.changed();
    return stop === null;
  }

  changed() {
    this.wanted ??= requestAnimationFrame(() => {
      this.wanted = null;
      this.draw();
    });
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.ask(), QUIET);
  }

  draw() {
    for (const part of this.parts) move[part.way](this, part);
    const met = this.table.contacts.filter((contact) => touches(contact, this.crank));
    const names = new Set(met.map((contact) => contact.name));
    for (const ring of this.rings)
      show(ring, names.has(ring.dataset.shownIf.replace("*", this.cylinder)));
    this.tell(met);
  }

  tell(met) {
    const angle = `${this.crank}°`;
    this.one('[data-show="angle"]').textContent = angle;
    this.slider.value = this.crank;
    this.slider.setAttribute("aria-valuetext", `${this.crank} degrees`);
    for (const cell of this.reads) cell.textContent = this.value(cell.dataset.read).toFixed(1);
    for (const cell of this.strokes) cell.textContent = this.stroke(cell.dataset.stroke);
    const words = met.map((contact) => contact.words.replace("{angle}", angle)).join(" ");
    const line = this.one("[data-contact]");
    if (line.textContent.trim() !== words) line.textContent = words;
    line.classList.toggle("bench__contact--on", words !== "");
  }

  stroke(cylinder) {
    const own = mod(this.crank - this.table.firing_deg[cylinder], CYCLE);
    return this.table.strokes[Math.floor(own / 180)];
  }

  /* Ask the server for the state in words, or for a deed on the chains. */
  async ask(deed = "") {
    const query = new URLSearchParams(this.setting);
    query.set("crank", this.turned);
    const chain = this.one("[data-chain]");
    if (chain) query.set("chain", chain.value);
    if (deed) query.set("do", deed);
    const asked = (this.asked = {});
    const state = await said(`${this.root.dataset.state}?${query}`);
    if (asked !== this.asked) return; // something newer was asked meanwhile
    this.refused(state.refused);
    if (state.refused) return;
    if (deed) await this.take(state);
    this.one("[data-words]").replaceChildren(...state.words.map(item));
    this.one("[data-live]").textContent = state.words.join(" ");
    this.answer(state.reached);
    this.keep();
  }

  async take(state) {
    this.turned = state.turned_deg;
    this.setting = new URLSearchParams();
    for (const [name, value] of Object.entries(state.setting))
      for (const one of [value].flat()) this.setting.append(name, one);
    await this.load();
    const off = this.setting.has("off");
    this.one("[data-take-off]")?.toggleAttribute("hidden", off);
    this.one("[data-refit]")?.toggleAttribute("hidden", !off);
    for (const chain of state.chains) {
      const words = this.one(`[data-timed="${chain.id}"] strong`);
      if (words) words.textContent = chain.words || "on";
    }
    this.draw();
  }

  refused(refusal) {
    this.one("[data-refusal]")?.remove();
    if (!refusal) return;
    const box = document.createElement("div");
    box.dataset.refusal = "";
    box.className = "notice notice--fault";
    box.setAttribute("role", "alert");
    const words = `${refusal.problem} ${refusal.remedy}`;
    box.textContent = words[0].toUpperCase() + words.slice(1);
    this.one("[data-contact]").after(box);
  }

  /* In an item: put the state reached into the answer's field, where it may still be changed. */
  answer(reached) {
    const field = this.root.dataset.answer && document.querySelector(this.root.dataset.answer);
    if (field && reached) field.value = reached;
  }

  /* Keep the address in step, so that it can be sent on and the back button leads away. */
  keep() {
    const kept = new URLSearchParams(location.search);
    for (const name of ["crank", "slip", "off", "moved", "do", "to"]) kept.delete(name);
    kept.set("crank", this.turned);
    kept.set("cylinder", this.cylinder);
    for (const [name, value] of this.setting) kept.append(name, value);
    history.replaceState(null, "", `?${kept}`);
  }

  listen() {
    for (const form of this.root.querySelectorAll("form"))
      form.addEventListener("submit", (event) => this.submitted(event));
    this.slider.addEventListener("input", () => {
      this.turn(Number(this.slider.value) - this.crank);
      this.slider.value = this.crank;
    });
    this.root.addEventListener("keydown", (event) => this.key(event));
    this.one("[data-choose]").addEventListener("change", (event) => {
      this.cylinder = event.target.value;
      this.one('[data-show="cylinder"]').textContent = this.cylinder;
      this.changed();
    });
    this.one("select[data-chain]")?.addEventListener("change", (event) => {
      for (const line of this.root.querySelectorAll("[data-timed]"))
        line.toggleAttribute("data-other", line.dataset.timed !== event.target.value);
    });
    for (const handle of this.root.querySelectorAll(".bench__handle"))
      handle.addEventListener("pointerdown", (event) => this.hold(event, handle));
  }

  submitted(event) {
    event.preventDefault();
    const [deed, amount] = (event.submitter?.value ?? "to").split(":");
    if (deed === "turn") this.turn(Number(amount));
    else if (deed === "to") this.typed();
    else this.ask(event.submitter.value);
  }

  /* What was typed the server reads: it knows commas and says what is wrong. */
  async typed() {
    const text = this.one("[data-to]").value;
    await this.ask(`to:${text}`);
  }

  key(event) {
    const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
    const step = steps[event.key] * (event.shiftKey ? 10 : 1);
    if (!step || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.matches("select, input:not([type=range])")) return;
    event.preventDefault();
    this.turn(step);
  }

  /* Drag the crank sprocket round its centre. */
  hold(event, handle) {
    event.preventDefault();
    const drawing = handle.ownerSVGElement;
    const centre = this.root.querySelector(".bench__handle[data-x]").dataset;
    let before = bearing(drawing, event, centre);
    const dragged = (moved) => {
      const now = bearing(drawing, moved, centre);
      this.turn(this.clockwise * (mod(now - before + 180, 360) - 180));
      before = now;
    };
    const let_go = () => {
      this.root.classList.remove("bench--held");
      removeEventListener("pointermove", dragged);
    };
    this.root.classList.add("bench--held");
    addEventListener("pointermove", dragged);
    addEventListener("pointerup", let_go, { once: true });
    addEventListener("pointercancel", let_go, { once: true });
  }
}

/* How a part follows its column; the server writes the same transforms for the first picture. */
const move = {
  turn(bench, part) {
    const by = bench.value(part.column) - part.base;
    part.element.setAttribute("transform", `rotate(${by.toFixed(2)} ${part.x} ${part.y})`);
  },
  slide(bench, part) {
    part.element.setAttribute("transform", slid(part, bench.value(part.column)));
  },
  swing(bench, part) {
    const lean = (-bench.value(part.lean)).toFixed(2);
    const along = slid(part, bench.value(part.column));
    part.element.setAttribute("transform", `${along} rotate(${lean} ${part.x} ${part.y})`);
  },
  trace(bench, part) {
    const by = -part.scale * mod(bench.turned, CYCLE);
    part.element.setAttribute("transform", `translate(${by.toFixed(2)} 0)`);
  },
  chain(bench, part) {
    const start = startOf(bench, part);
    if (start === null) return;
    const pins = pinsOf(part, start);
    const [edge, paper, rims, dots, links] = part.element.children;
    const line = `M${pins.join("L")}Z`;
    edge.setAttribute("d", line);
    paper.setAttribute("d", line);
    const places = pins.map((pin) => `M${pin}h0`).join("");
    rims.setAttribute("d", places);
    dots.setAttribute("d", places);
    const pair = (pin) => `M${pins[pin % part.pins]}L${pins[(pin + 1) % part.pins]}`;
    links.setAttribute("d", part.marked.map(pair).join(""));
  },
  belt(bench, part) {
    const start = startOf(bench, part);
    if (start === null) return;
    const [, , teeth, lines] = part.element.children;
    const [strokes, marks] = teethOf(part, start);
    teeth.setAttribute("d", strokes);
    lines.setAttribute("d", marks);
  },
};

/* Where the first pin or tooth stands on the loop now; null while chain or belt is off. */
function startOf(bench, part) {
  const chain = bench.table.chains[part.drive];
  show(part.element, !chain.off);
  if (chain.off) return null;
  const run = chain.runs ? (bench.turned / CYCLE) * chain.per_cycle : 0;
  return part.first + chain.pitches + run;
}

/* A toothed belt: each tooth a stroke from its root to its tip, each line from the back to the tip. */
function teethOf(part, start) {
  const stroke = (tooth, outer) => {
    const place = mod(start + tooth, part.pins);
    return `M${along(part[outer], part.samples, place)}L${along(part.tips, part.samples, place)}`;
  };
  const all = Array.from({ length: part.pins }, (_, tooth) => stroke(tooth, "roots"));
  return [all.join(""), part.marked.map((tooth) => stroke(tooth, "back")).join("")];
}

/* What the server says; where it cannot be reached, or asks to sign in again, that. */
async function said(address) {
  try {
    return await (await fetch(address)).json();
  } catch {
    return { refused: { problem: "The server does not answer.", remedy: "Load the page again." } };
  }
}

function partOf(element) {
  const { way, column, lean, drive, track, tips, roots, back, marked, ...rest } = element.dataset;
  const numbers = Object.fromEntries(Object.entries(rest).map(([key, text]) => [key, Number(text)]));
  const split = (text) => (text ? text.split(" ").map(Number) : []);
  const lines = { track: split(track), tips: split(tips), roots: split(roots), back: split(back) };
  return { element, way, column, lean, drive, ...numbers, ...lines, marked: split(marked) };
}

function pinsOf(part, start) {
  return Array.from({ length: part.pins }, (_, pin) =>
    along(part.track, part.samples, mod(start + pin, part.pins)));
}

/* The place so many pitches along a sampled line. */
function along(line, samples, pitches) {
  const points = line.length / 2;
  const place = pitches * samples;
  const here = 2 * (Math.floor(place) % points);
  const there = 2 * ((Math.floor(place) + 1) % points);
  const share = place % 1;
  const at = (axis) => line[here + axis] * (1 - share) + line[there + axis] * share;
  return `${at(0).toFixed(1)} ${at(1).toFixed(1)}`;
}

function slid(part, value) {
  return `translate(${(part.dx * value).toFixed(2)} ${(part.dy * value).toFixed(2)})`;
}

function inside(contact, crank) {
  const into = mod(crank - contact.from_deg, CYCLE);
  const left = mod(contact.to_deg - crank, CYCLE);
  return into > TOUCH && left > TOUCH && into + left < CYCLE;
}

function touches(contact, crank) {
  const into = mod(crank + TOUCH - contact.from_deg, CYCLE);
  return into <= mod(contact.to_deg - contact.from_deg, CYCLE) + 2 * TOUCH;
}

function bearing(drawing, event, centre) {
  const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(
    drawing.getScreenCTM().inverse());
  return Math.atan2(spot.x - centre.x, centre.y - spot.y) * (180 / Math.PI);
}

function show(element, shown) {
  if (shown) element.removeAttribute("display");
  else element.setAttribute("display", "none");
}

function item(words) {
  const line = document.createElement("li");
  line.textContent = words;
  return line;
}

function mod(value, whole) {
  return ((value % whole) + whole) % whole;
}

for (const root of document.querySelectorAll("[data-bench]")) start(root);
