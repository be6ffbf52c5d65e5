/* Choosing a place by pointing at the figure. Without this script the list of letters does it. */

const REACH = 45; // picture units within which a place is meant
const controls = [...document.querySelectorAll("[data-x]")];
const drawing = document.querySelector(".drawing svg.figure");

if (drawing && controls.length) {
  drawing.classList.add("figure--live");
  drawing.addEventListener("click", (event) => {
    const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(
      drawing.getScreenCTM().inverse());
    const far = (control) =>
      Math.hypot(control.dataset.x - spot.x, control.dataset.y - spot.y);
    const nearest = controls.reduce((one, other) => (far(other) < far(one) ? other : one));
    if (far(nearest) < REACH) nearest.click();
  });
}
