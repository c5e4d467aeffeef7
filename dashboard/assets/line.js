/* Plays a week of the line without asking the server. The week comes as JSON in the attribute data-week of any element
   (dashboard/charts/week.py says what is in it); everything inside an element with data-play="<its key>" follows it.
   What is read here at a time is what dashboard/charts/moment.py reads, and is rounded and worded the same. */
(function () {
  "use strict";
  const HOURS_A_SECOND = 4;
  const players = new Map();
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");

  /* reading the week */
  function before(times, time) {
    let low = 0, high = times.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (times[middle] <= time) low = middle + 1; else high = middle;
    }
    return Math.max(0, low - 1);
  }

  function valueAt(series, time) {
    const t = series.t, v = series.v, i = before(t, time);
    if (!series.linear || i + 1 >= t.length || time <= t[i]) return v[i];
    return v[i] + (v[i + 1] - v[i]) * ((time - t[i]) / (t[i + 1] - t[i]));
  }

  function figure(value, digits) {
    const scale = Math.pow(10, digits);
    const rounded = Math.floor(Math.abs(value) * scale + 0.5) / scale;
    const [whole, part] = rounded.toFixed(digits).split(".");
    const shown = whole.replace(/\B(?=(\d{3})+(?!\d))/g, "\u2009") + (part ? "." + part : "");
    return value < 0 && rounded ? "\u2212" + shown : shown;
  }

  const amount = (value, unit, digits) => figure(value, digits) + "\u00a0" + unit;

  function storeWords(store, level, ready) {
    if (store.capacity === 0) return ["handed on", "no room between"];
    if (store.capacity === null) return [amount(level, store.unit, store.digits), ""];
    const first = figure(level, store.digits) + " of " + store.holds;
    if (store.rests) {
      const taken = Math.floor(ready + 0.5);
      return [first, figure(taken, 0) + " ready, " + figure(Math.floor(level + 0.5) - taken, 0) + " cooling"];
    }
    if (store.heel) return [first, "heel " + store.heel];
    const free = store.capacity - level;
    return [first, free > Math.pow(10, -store.digits) / 2 ? figure(free, store.digits) + " free" : "full"];
  }

  function machineNow(week, machine, time) {
    const i = before(machine.t, time), code = machine.s[i], look = week.looks[code];
    const why = machine.why ? week.reasons[machine.why[i]] : "";
    return { code: code, word: code !== "r" && why ? "waits: " + why : look.word };
  }

  function figureNow(series, time) {
    const value = valueAt(series, time);
    return series.words ? series.words[Math.trunc(value)] : series.form.replace("{}", figure(value, series.digits));
  }

  function timeText(week, time) {
    const day = week.days[before(week.starts, time)];
    const minutes = Math.floor((day.clock + time - day.t) / 60) % 1440;
    const two = (n) => String(n).padStart(2, "0");
    return day.name + " " + two(Math.floor(minutes / 60)) + ":" + two(minutes % 60);
  }

  function stateWords(machines) {
    const said = [...new Set(machines.map((machine) => machine.word))];
    const others = said.filter((word) => word !== "running");
    return (others.length ? others : said).slice(0, 2).join(", ");
  }

  /* changing the page: each setter touches it only when what it shows has changed */
  function texts(element) {
    let last = element.textContent;
    return (shown) => { if (shown !== last) { element.textContent = shown; last = shown; } };
  }

  function attribute(element, name) {
    let last = element.getAttribute(name);
    return (value) => { if (value !== last) { element.setAttribute(name, value); last = value; } };
  }

  const short = (value) => String(Math.round(value * 100) / 100);

  function spot(box, place) {
    const column = Math.floor(place / box.rows), row = place % box.rows;
    return [2.7 + box.across * (column + 0.5), -2.4 - box.up * (row + 0.5)];
  }

  function rings(box, first, last, radius) {
    let path = "";
    const r = short(radius), d = short(2 * radius);
    for (let place = first; place < last; place += 1) {
      const [x, y] = spot(box, place);
      path += "M" + short(x - radius) + " " + short(y) + "a" + r + " " + r + " 0 1 0 " + d + " 0a" + r + " " + r +
        " 0 1 0 -" + d + " 0";
    }
    return path;
  }

  function bars(box, first, last) {
    let path = "";
    for (let place = first; place < last; place += 1) {
      const [x, y] = spot(box, place);
      path += "M" + short(x - 6) + " " + short(y) + "h12";
    }
    return path;
  }

  const fill = {
    rack: function (element, box) {
      const full = element.querySelector(".pl-full"), cools = element.querySelector(".pl-cools");
      const free = element.querySelector(".pl-free");
      return (ready, taken) => {
        full.setAttribute("d", rings(box, 0, ready, 3));
        cools.setAttribute("d", rings(box, ready, taken, 4));
        free.setAttribute("d", rings(box, taken, box.count, 0.5));
      };
    },
    stacks: function (element, box) {
      const there = element.querySelector(".pl-pieces"), free = element.querySelector(".pl-free");
      return (ready, taken) => {
        there.setAttribute("d", bars(box, 0, taken));
        free.setAttribute("d", rings(box, taken, box.count, 0.5));
      };
    },
  };

  function placesOf(element) {
    const box = {}, data = element.dataset;
    for (const name of ["count", "rows", "each", "across", "up"]) box[name] = Number(data[name]);
    const draw = fill[data.kind](element, box);
    let last = "";
    return (level, ready) => {
      const taken = Math.min(box.count, Math.floor(level / box.each + 0.5));
      const may = Math.min(taken, Math.floor(ready / box.each + 0.5));
      if (last !== may + " " + taken) { draw(may, taken); last = may + " " + taken; }
    };
  }

  function bathOf(element) {
    const per = Number(element.dataset.per), heel = Number(element.dataset.heel);
    const right = Number(element.dataset.width) - 3;
    const metal = attribute(element.querySelector(".pl-bath"), "d");
    const under = element.querySelector(".pl-heel");
    const body = (level) => {
      const low = short(Math.max(level, 39));
      return "M3 " + short(level) + "H" + short(right) + "V" + low + "Q" + short(right) + " 45 " + short(right - 6) +
        " 45H9Q3 45 3 " + low + "Z";
    };
    const hatched = under ? attribute(under, "d") : () => {};
    return (level) => {
      const y = Math.max(45 - per * level, -19);
      metal(body(y));
      hatched(body(Math.max(y, heel)));
    };
  }

  function loopOf(element) {
    const full = Number(element.dataset.full), r = Number(element.dataset.radius);
    const path = attribute(element.querySelector(".pl-loop"), "d");
    const low = [...element.querySelectorAll(".pl-low")].map((roller) => attribute(roller, "cy"));
    return (level) => {
      const depth = short(8 + 36 * Math.min(1, Math.max(0, full ? level / full : 0)));
      const [a, b, c, d] = [1, 2, 3, 4].map((turn) => short(16 + 2 * r * (turn - 1)));
      const bend = "A" + short(r) + " " + short(r) + " 0 0 ";
      path("M0 0H" + a + "V" + depth + bend + "0 " + b + " " + depth + "V0" + bend + "1 " + c + " 0V" + depth + bend +
        "0 " + d + " " + depth + "V0H" + short(32 + 6 * r));
      low.forEach((set) => set(depth));
    };
  }

  const stores = { rack: placesOf, stacks: placesOf, bath: bathOf, loop: loopOf };

  function chipsOf(player, element) {
    const names = JSON.parse(element.dataset.stations);
    const machines = names.flatMap((name) => player.byStation.get(name) || []);
    const key = (element.closest("[data-key]") || element).dataset.key;
    const chips = [...element.querySelectorAll(".pl-chip")];
    const shown = chips.map(() => "");
    const word = texts(element.querySelector(".pl-word"));
    return (time) => {
      if (!machines.length) return;
      const now = machines.map((machine) => machineNow(player.week, machine, time));
      now.forEach((machine, i) => {
        if (!chips[i] || shown[i] === machine.code) return;
        const look = player.week.looks[machine.code];
        chips[i].setAttribute("class", "pl-chip " + look.class);
        chips[i].innerHTML = look.chip.replaceAll("{key}", key);
        shown[i] = machine.code;
      });
      word(stateWords(now));
    };
  }

  function figuresOf(player, element) {
    const set = texts(element), target = element.dataset.figure;
    const series = player.week.figures.find((one) => one.target === target);
    if (series) return (time) => set(figureNow(series, time));
    const [part, name] = [target.slice(0, target.indexOf(" ")), target.slice(target.indexOf(" ") + 1)];
    const store = player.week.stores.find((one) => one.name === name);
    if (!store || !["first", "second", "store"].includes(part)) return null;
    return (time) => {
      const [first, second] = storeWords(store, valueAt(store, time), readyAt(store, time));
      set(part === "first" ? first : part === "second" ? second : second ? first + ", " + second : first);
    };
  }

  const readyAt = (store, time) => (store.rv ? store.rv[before(store.rt, time)] : valueAt(store, time));

  function storesOf(player, element) {
    const store = player.week.stores.find((one) => one.name === element.dataset.store);
    const make = stores[element.dataset.kind];
    if (!store || !make) return null;
    const draw = make(element);
    return (time) => draw(valueAt(store, time), readyAt(store, time));
  }

  function limitsOf(player, element) {
    const names = JSON.parse(element.dataset.limits), limits = player.week.limits;
    const word = element.querySelector(".pl-limit-word");
    const say = word ? texts(word) : () => {};
    return (time) => {
      const name = limits.names[limits.v[before(limits.t, time)]] || "";
      const here = names.includes(name);
      element.classList.toggle("pl-limits", here);
      say(here && name.endsWith(" roll shop") ? "roll shop limits" : "limits now");
    };
  }

  function wordsOf(player, element) {
    const machines = player.byStation.get(element.dataset.words) || [], set = texts(element);
    return (time) => machines.length && set(stateWords(machines.map((one) => machineNow(player.week, one, time))));
  }

  function cursorOf(player, element) {
    const x = attribute(element, "x"), flag = element.querySelector(".pl-flag-text");
    const say = flag ? texts(flag) : () => {};
    const plot = element.ownerSVGElement;
    const days = flag ? [...plot.querySelectorAll("[data-t]")] : [];
    const names = days.map((day) => [Number(day.dataset.t), day.querySelector(".pl-day-name")]);
    return (time) => {
      x(short((100 * time) / player.week.length * 100) / 100 + "%");
      if (!flag) return;
      say(timeText(player.week, time));
      for (const [start, name] of names) {
        const ahead = ((time - start) / player.week.length) * (plot.clientWidth || 896);
        if (name) name.classList.toggle("pl-under-flag", ahead > -36 && ahead < 102);
      }
    };
  }

  function daysOf(player, element) {
    const x = attribute(element, "x");
    const starts = player.week.days.filter((day) => day.label).map((day) => day.t);
    return (time) => x(short((-100 * starts[before(starts, time)]) / 86400) + "%");
  }

  function sliderOf(player, element) {
    const said = attribute(element, "aria-valuetext");
    element.oninput = () => { pause(player); show(player, Number(element.value)); };
    return (time) => {
      element.value = String(time);
      element.style.setProperty("--share", (100 * time) / player.week.length + "%");
      said(timeText(player.week, time));
    };
  }

  function buttonOf(player, element) {
    const say = texts(element), pressed = attribute(element, "aria-pressed");
    element.onclick = () => (player.playing ? pause(player) : play(player));
    return () => {
      say(player.playing ? "Hold the week" : element.dataset.word);
      pressed(String(player.playing));
    };
  }

  function timeOf(player, element) {
    const set = texts(element);
    return (time) => set(timeText(player.week, time));
  }

  const followers = [
    [".pl-says", chipsOf], ["[data-figure]", figuresOf], ["[data-store]", storesOf], ["[data-limits]", limitsOf],
    ["[data-words]", wordsOf], [".pl-cursor", cursorOf], [".pl-days", daysOf], [".pl-play-slider", sliderOf],
    [".pl-play-button", buttonOf], [".pl-play-time", timeOf],
  ];

  /* the players */
  function show(player, time) {
    player.time = Math.min(player.week.length, Math.max(0, time));
    for (const follow of player.follow) follow(player.time);
    document.dispatchEvent(new CustomEvent("passline:time", { detail: { key: player.week.key, time_s: player.time } }));
  }

  function pause(player) {
    if (!player.playing) return;
    player.playing = false;
    show(player, player.time);
  }

  function play(player) {
    if (player.time >= player.week.length) player.time = 0;
    player.playing = true;
    let last = performance.now(), exact = player.time;
    const step = (now) => {
      if (!player.playing) return;
      exact += ((now - last) / 1000) * HOURS_A_SECOND * 3600;
      last = now;
      const shown = still.matches ? Math.floor(exact / 3600) * 3600 : exact;
      if (shown !== player.time) show(player, shown);
      if (player.time >= player.week.length) pause(player); else window.requestAnimationFrame(step);
    };
    window.requestAnimationFrame(step);
    show(player, player.time);
  }

  function bind(player) {
    const parts = [...document.querySelectorAll("[data-play]")].filter((p) => p.dataset.play === player.week.key);
    const same = parts.length === player.parts.length && parts.every((part, i) => part === player.parts[i]);
    if (same && player.bound === player.week) return;
    player.parts = parts;
    player.bound = player.week;
    player.follow = [];
    for (const part of parts) {
      for (const [selector, make] of followers) {
        for (const element of part.querySelectorAll(selector)) {
          const follow = make(player, element);
          if (follow) player.follow.push(follow);
        }
      }
    }
    const slider = parts.map((part) => part.querySelector(".pl-play-slider")).find((found) => found);
    if (player.time === null) player.time = slider ? Number(slider.value) : 0;
    show(player, player.time);
  }

  function read(element) {
    const text = element.getAttribute("data-week");
    if (!text) return;
    const week = JSON.parse(text);
    week.starts = week.days.map((day) => day.t);
    const player = players.get(week.key) || { time: null, playing: false, parts: [], follow: [], text: "" };
    if (player.text === text) return;
    player.text = text;
    player.week = week;
    player.playing = false;
    player.byStation = new Map();
    for (const machine of week.machines) {
      player.byStation.set(machine.station, (player.byStation.get(machine.station) || []).concat(machine));
    }
    if (player.time !== null) player.time = Math.min(player.time, week.length);
    players.set(week.key, player);
  }

  function refresh() {
    document.querySelectorAll("[data-week]").forEach(read);
    players.forEach(bind);
  }

  let asked = false;
  function refreshSoon() {
    if (asked) return;
    asked = true;
    queueMicrotask(() => { asked = false; refresh(); });
  }

  function start() {
    refresh();
    document.addEventListener("passline:drawn", refreshSoon);
    new MutationObserver((changes) => {
      const ours = (node) => node.nodeType === 1 && (node.matches("[data-week]") || node.querySelector("[data-week]"));
      if (changes.some((c) => c.type === "attributes" || [...c.addedNodes].some(ours))) refreshSoon();
    }).observe(document.documentElement, {
      childList: true, subtree: true, attributes: true, attributeFilter: ["data-week"],
    });
  }

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.passline = Object.assign(window.dash_clientside.passline || {}, {
    show: function (seconds, key) {
      const player = players.get(key || "week") || players.values().next().value;
      if (player && typeof seconds === "number") { pause(player); show(player, seconds); }
      return window.dash_clientside.no_update;
    },
  });

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
