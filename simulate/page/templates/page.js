"use strict";
(function () {
  const root = document.documentElement;
  root.classList.add("js");
  const seatInputs = document.querySelectorAll('#seat-picker input');
  const pairs = Array.from(document.querySelectorAll(".pair"));

  function chosen(inputs, otherwise) {
    const found = Array.from(inputs).find((input) => input.checked);
    return found ? found.value : otherwise;
  }

  function show(pair) {
    const seat = chosen(seatInputs, "0");
    const shape = chosen(pair.querySelectorAll('input[type="radio"]'), "0");
    pair.querySelectorAll(".before img").forEach((image) => { image.hidden = image.dataset.seat !== seat; });
    pair.querySelectorAll(".after img").forEach((image) => {
      image.hidden = image.dataset.seat !== seat || image.dataset.shape !== shape;
    });
    pair.querySelectorAll(".after .tag").forEach((tag) => { tag.hidden = tag.dataset.shape !== shape; });
  }

  function cut(pair) {
    const slider = pair.querySelector('input[type="range"]');
    const stage = pair.querySelector(".stage");
    const at = slider.value + "%";
    stage.querySelector(".after").style.clipPath = "inset(0 0 0 " + at + ")";
    stage.querySelector(".line").style.left = at;
    slider.setAttribute("aria-valuetext", slider.value + " % of the width shows the left side");
  }

  function drag(pair) {
    const slider = pair.querySelector('input[type="range"]');
    const stage = pair.querySelector(".stage");
    function move(event) {
      const box = stage.getBoundingClientRect();
      slider.value = String(Math.round(100 * (event.clientX - box.left) / box.width));
      cut(pair);
    }
    stage.addEventListener("pointerdown", (event) => { stage.setPointerCapture(event.pointerId); move(event); });
    stage.addEventListener("pointermove", (event) => { if (stage.hasPointerCapture(event.pointerId)) { move(event); } });
  }

  pairs.forEach((pair) => {
    pair.querySelector('input[type="range"]').addEventListener("input", () => cut(pair));
    pair.querySelectorAll('input[type="radio"]').forEach((input) => input.addEventListener("change", () => show(pair)));
    drag(pair);
    show(pair);
    cut(pair);
  });
  seatInputs.forEach((input) => input.addEventListener("change", () => {
    pairs.forEach(show);
    const said = document.querySelector(".seat-said");  // paper has no picker
    if (said) { said.textContent = input.parentElement.textContent; }
  }));
})();
