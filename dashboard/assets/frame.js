/* What the frame does without asking the server: theme, print, lists that close, buttons in sentences, a lost server. */
(function () {
  "use strict";
  var root = document.documentElement;

  function store(name, value) {
    try { localStorage.setItem(name, value); } catch (error) { /* private window: the choice lasts as long as the page */ }
  }

  function nameTheme() {
    var button = document.getElementById("theme");
    if (button) { button.textContent = root.getAttribute("data-theme") === "dark" ? "Light" : "Dark"; }
  }

  function turnTheme() {
    var dark = root.getAttribute("data-theme") === "dark";
    root.setAttribute("data-theme", dark ? "light" : "dark");
    store("passline-theme", dark ? "light" : "dark");
    nameTheme();
  }

  function closeLists(but) {
    document.querySelectorAll("details.chooser[open]").forEach(function (list) {
      if (list !== but) { list.open = false; }
    });
  }

  /* A choice is an address; where only one thing can be chosen, its list closes. */
  function goTo(button) {
    window.dash_clientside.set_props("address", { search: button.getAttribute("data-ask") });
    if (button.hasAttribute("aria-current")) {
      closeLists(null);
      button.closest("details").querySelector("summary").focus();
    }
  }

  document.addEventListener("click", function (event) {
    var button = event.target.closest("button");
    closeLists(event.target.closest("details.chooser"));
    if (!button) { return; }
    if (button.id === "theme") { turnTheme(); }
    if (button.id === "print") { window.print(); }
    if (button.hasAttribute("data-ask")) { goTo(button); }
    var other = button.getAttribute("data-press");
    if (other && document.getElementById(other)) { document.getElementById(other).click(); }
  });

  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") { return; }
    var open = document.querySelector("details.chooser[open]");
    if (open) { open.open = false; open.querySelector("summary").focus(); }
  });

  /* Dash puts the caret back some time after each key, which swaps letters when the next key was quicker. The browser has
     it in the right place already. */
  document.addEventListener("focusin", function (event) {
    if (event.target.matches("input.dash-input-element")) { event.target.setSelectionRange = function () {}; }
  });

  /* A request that is not answered is said on the page; the first one that is takes the message away. */
  var ask = window.fetch;
  var PATIENCE_MS = 20000;
  window.fetch = function () {
    var waiting = setTimeout(function () { lost(true); }, PATIENCE_MS);
    return ask.apply(this, arguments).then(function (answer) {
      clearTimeout(waiting);
      lost(false);
      return answer;
    }, function (error) {
      clearTimeout(waiting);
      if (!error || error.name !== "AbortError") { lost(true); }
      throw error;
    });
  };

  function lost(is) {
    var message = document.getElementById("lost");
    if (message && message.hidden === is) { message.hidden = !is; }
  }

  /* The theme button and the page's title follow what Dash draws. */
  new MutationObserver(function () {
    var current = document.querySelector("#menu [aria-current]");
    var title = current ? current.textContent + " – passline" : "passline";
    if (document.title !== title) { document.title = title; }
    var button = document.getElementById("theme");
    if (button && !button.getAttribute("data-ready")) { button.setAttribute("data-ready", "1"); nameTheme(); }
  }).observe(document.documentElement, { childList: true, subtree: true });

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    passline_frame: {
      /* One name a browser tab: its new question takes the place of its old one. */
      owner: function (stamp, name) {
        return name ? window.dash_clientside.no_update : Math.random().toString(36).slice(2) + Math.random().toString(36).slice(2);
      },
      /* The address always says what is shown, without a step in the history. */
      settle: function (ask) {
        if (ask && !ask.error && window.location.search === "") {
          window.history.replaceState(window.history.state, "", window.location.pathname + ask.search);
        }
      }
    }
  });
})();
