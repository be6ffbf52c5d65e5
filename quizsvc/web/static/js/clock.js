/* The time left, counted down on the page and set right by the server now and then. The server's
   clock alone decides; without this script the page shows the time left when it was loaded. */

const ASK_EVERY = 15_000;
const shown = document.querySelector("[data-clock]");
if (shown) run(shown);

function run(shown) {
  let left = "left" in shown.dataset ? Number(shown.dataset.left) : null;
  let since = performance.now();
  let state = shown.dataset.state;
  let over = false;

  async function ask() {
    try {
      const reply = await fetch(shown.dataset.clock, { headers: { Accept: "application/json" } });
      if (!reply.ok) return;
      const told = await reply.json();
      if (told.state !== state) {
        location.reload();
        return;
      }
      left = told.left;
      since = performance.now();
    } catch {
      // Without a connection the page counts on by itself.
    }
  }

  function tick() {
    if (left === null) return;
    const passed = state === "paused" ? 0 : (performance.now() - since) / 1000;
    const seconds = Math.max(0, Math.round(left - passed));
    const words = `${Math.floor(seconds / 60)} min ${String(seconds % 60).padStart(2, "0")} s left`;
    if (shown.textContent !== words) shown.textContent = words;
    shown.classList.toggle("clock__left--short", seconds < 300);
    if (seconds === 0 && !over) {
      over = true;
      // The last answer on its way still has a few seconds.
      setTimeout(() => location.reload(), 7000);
    }
  }

  tick();
  setInterval(tick, 500);
  setInterval(ask, ASK_EVERY);
  document.addEventListener("visibilitychange", () => document.hidden || ask());
}
