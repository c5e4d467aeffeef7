/* Inputs: narrows tables to some rows, takes a number to be changed into the fields, brings files of a log in. */
(function () {
  "use strict";

  function value(name, target) {
    const field = document.querySelector("[" + name + '="' + target + '"]');
    return field ? field.value.trim().toLowerCase() : "";
  }

  /* Rows stay that hold every word and are of the kind; a fold opens when something was asked for and found in it. */
  function sift(target) {
    const asked = value("data-sift", target).split(/\s+/).filter(Boolean);
    const kind = value("data-sift-kind", target);
    const box = document.getElementById(target);
    if (!box) { return; }
    let shown = 0;
    const rows = box.querySelectorAll("tbody tr");
    rows.forEach(function (row) {
      const fold = row.closest("details");
      const said = ((fold ? fold.getAttribute("data-group") + " " : "") + row.textContent).toLowerCase();
      const kinds = (row.getAttribute("data-kinds") || "").toLowerCase().split("|");
      const held = row.hasAttribute("data-later") && !asked.length && !kind && !box.hasAttribute("data-whole");
      const stays = !held && asked.every(function (word) { return said.includes(word); }) && (!kind || kinds.includes(kind));
      row.hidden = !stays;
      shown += stays ? 1 : 0;
    });
    box.querySelectorAll("details").forEach(function (fold) {
      const some = fold.querySelector("tbody tr:not([hidden])") !== null;
      fold.hidden = !some;
      if (asked.length || kind) { fold.open = some; }
    });
    const said = document.querySelector('[data-sift-said="' + target + '"]');
    if (said) { said.textContent = asked.length || kind ? shown + " of " + rows.length + " shown" : ""; }
  }

  document.addEventListener("input", function (event) {
    const field = event.target;
    const target = field.getAttribute && (field.getAttribute("data-sift") || field.getAttribute("data-sift-kind"));
    if (target) { sift(target); }
  });

  /* A long table shows its first rows; the others come when they are asked for. */
  document.addEventListener("click", function (event) {
    const button = event.target.closest("[data-more]");
    if (!button) { return; }
    const target = button.getAttribute("data-more");
    const whole = document.getElementById(target).toggleAttribute("data-whole");
    button.textContent = whole ? "Show the first ones" : button.getAttribute("data-said");
    sift(target);
  });

  /* A number that is to be changed: its path and its value go into the fields, and once they are there the hand goes to
     the value: what is typed from then on takes its place. */
  document.addEventListener("click", function (event) {
    const button = event.target.closest("[data-pick]");
    if (!button) { return; }
    const now = button.getAttribute("data-now") || "";
    window.dash_clientside.set_props("in-path", { value: button.getAttribute("data-pick") });
    window.dash_clientside.set_props("in-value", { value: now });
    const field = document.getElementById("in-value");
    if (field) {
      field.scrollIntoView({ block: "center" });
      hand(field, now, 40);
    }
  });

  function hand(field, now, tries) {
    if (tries > 0 && field.value !== now) {
      setTimeout(hand, 25, field, now, tries - 1);
      return;
    }
    field.focus();
    field.select();
  }

  /* What is ticked is told to the page, which takes it from there. */
  document.addEventListener("change", function (event) {
    if (!event.target.matches || !event.target.matches("input[data-take]")) { return; }
    const ticked = Array.from(document.querySelectorAll("input[data-take]:checked"));
    const paths = ticked.map(function (field) { return field.getAttribute("data-take"); });
    window.dash_clientside.set_props("in-accept-paths", { data: paths });
  });

  function say(title, lines) {
    const box = document.getElementById("in-bring-said");
    if (!box) { return; }
    box.replaceChildren();
    if (!title) { return; }
    const made = document.createElement("div");
    made.className = "box";
    const head = document.createElement("h2");
    head.textContent = title;
    made.append(head);
    lines.forEach(function (line) {
      const said = document.createElement("p");
      said.textContent = line;
      made.append(said);
    });
    box.append(made);
  }

  function words(fault) {
    const place = fault.line ? fault.file + ", line " + fault.line : fault.file;
    const end = /[.?]$/.test(fault.message) ? "" : ".";
    return place + ": " + fault.message + end + (fault.way_out ? " " + fault.way_out.replace(/\.?$/, ".") : "");
  }

  async function bring(field) {
    const files = Array.from(field.files);
    if (!files.length) { return; }
    const size = files.reduce(function (sum, file) { return sum + file.size; }, 0);
    const most = Number(field.getAttribute("data-most"));
    if (size > most) {
      say("The log was not taken.", ["It has more than " + Math.floor(most / 1e6) + " MB. Put it into a folder beside the plant's file."]);
      return;
    }
    const told = JSON.stringify(files.map(function (file) { return [file.name, file.size]; }));
    try {
      const answer = await fetch("/bring/log", {
        method: "POST",
        headers: { "Content-Type": "application/octet-stream" },
        body: new Blob([told + "\n"].concat(files)),
      });
      const found = await answer.json();
      if (found.name) {
        const asked = new URLSearchParams(window.location.search);
        asked.set("log", found.name);
        say("", []);
        window.dash_clientside.set_props("address", { search: "?" + asked.toString() });
      } else {
        say("The log was not taken.", found.faults.map(words));
      }
    } catch (error) {
      say("The log was not taken.", ["The server did not take it. It may be too large, or the server is not there."]);
    }
    field.value = "";
  }

  document.addEventListener("change", function (event) {
    if (event.target.matches && event.target.matches("input[data-bring]")) { bring(event.target); }
  });
})();
