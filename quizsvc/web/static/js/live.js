/* The live view looks for news every few seconds; the server answers with nothing when there is
   none. Without this script a link loads the page again. */

const EVERY = 4000;
const place = document.querySelector("[data-live]");
if (place) setInterval(() => document.hidden || busy(place) || look(place), EVERY);

/* Whoever has a form open in the table is not disturbed. */
function busy(place) {
  return place.querySelector("details[open]") !== null || place.contains(document.activeElement);
}

async function look(place) {
  const seen = place.querySelector("[data-version]").dataset.version;
  try {
    const reply = await fetch(`${place.dataset.live}?seen=${seen}`);
    if (reply.status !== 200 || reply.redirected) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    if (!busy(place)) place.replaceChildren(...page.body.children);
  } catch {
    // The next look will do.
  }
}
