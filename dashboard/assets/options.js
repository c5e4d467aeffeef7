/* Before you buy: what the slider says at a position is on the page already, so that moving it asks nobody. */
(function () {
  "use strict";

  /* How much of the track lies behind the thumb is drawn from this. */
  function fill(place, most) {
    const slider = document.getElementById("buy-slider");
    if (slider) { slider.style.setProperty("--share", (100 * place / Math.max(1, most)).toFixed(2) + "%"); }
  }

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    passline_options: {
      move: function (value, along) {
        if (!along || !along.said) { return [along ? along.none : "", true, true, ""]; }
        const most = along.said.length - 1;
        const place = Math.min(most, Math.max(0, Math.round(Number(value))));
        fill(place, most);
        return [along.said[place], false, !along.asks[place], along.asks[place]];
      }
    }
  });
})();
