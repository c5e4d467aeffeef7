/* Moves a coming roll change along its lane: thumb, mark and words follow, without asking the server. */
(function () {
  "use strict";
  const known = new WeakMap();

  function told(lane) {
    if (!known.has(lane)) known.set(lane, JSON.parse(lane.getAttribute("data-steps")));
    return known.get(lane);
  }

  /* The step that lies nearest to a minute. */
  function nearest(steps, minute) {
    let best = 0;
    steps.forEach((step, place) => {
      if (Math.abs(step[0] - minute) < Math.abs(steps[best][0] - minute)) best = place;
    });
    return best;
  }

  function show(lane, place) {
    const all = told(lane);
    const [minute, height, words] = all.steps[place];
    lane.querySelectorAll(".roll-dial").forEach((dial) => {
      const length = Number(dial.getAttribute("data-length"));
      const share = (100 * (minute - Number(dial.getAttribute("data-shift")))) / length;
      const here = dial.parentElement.querySelector(".roll-here");
      dial.value = minute;
      dial.setAttribute("aria-valuetext", words);
      here.setAttribute("x", share + "%");
      here.toggleAttribute("hidden", place === all.best);
      here.querySelector("line").setAttribute("y1", height);
      here.querySelector("circle").setAttribute("cy", height);
    });
    lane.querySelector(".roll-said").textContent = words;
    lane.querySelector(".roll-back").hidden = place === all.best;
  }

  document.addEventListener("input", (event) => {
    if (!event.target.classList.contains("roll-dial")) return;
    const lane = event.target.closest(".roll-lane");
    show(lane, nearest(told(lane).steps, Number(event.target.value)));
  });

  /* By key a change moves from step to step: a minute would be too little to be seen. */
  const KEYS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -4, PageUp: 4 };
  document.addEventListener("keydown", (event) => {
    if (!event.target.classList || !event.target.classList.contains("roll-dial") || !(event.key in KEYS)) return;
    const lane = event.target.closest(".roll-lane");
    const steps = told(lane).steps;
    const next = nearest(steps, Number(event.target.value)) + KEYS[event.key];
    show(lane, Math.max(0, Math.min(steps.length - 1, next)));
    event.preventDefault();
  });

  document.addEventListener("click", (event) => {
    if (!event.target.classList || !event.target.classList.contains("roll-back")) return;
    const lane = event.target.closest(".roll-lane");
    show(lane, told(lane).best);
    Array.from(lane.querySelectorAll(".roll-dial")).find((dial) => dial.offsetParent !== null).focus();
  });
})();
