/* The page at the bench. Every tap that keeps something makes an event with an id of its own; the event stands in this
   browser until the shop's computer has said that it is on its disk. Sent twice it counts once. */
"use strict";

(() => {
  const WAITS = "springfit:waits:";
  const REFUSED = "springfit:refused:";
  const AT = "springfit:at:";
  const PATIENCE = 4000; // ms that a tap waits for its answer before it goes on without

  // ---- small helpers

  const find = (selector, within = document) => within.querySelector(selector);
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];

  function make(tag, traits = {}, ...inside) {
    const svg = ["svg", "path", "circle", "line", "text", "polygon"].includes(tag);
    const made = svg ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
    for (const [name, value] of Object.entries(traits)) {
      if (name === "on") made.addEventListener("click", value);
      else if (value === true) made.setAttribute(name, "");
      else if (value !== false && value !== null) made.setAttribute(name, value);
    }
    made.append(...inside.filter((one) => one !== null && one !== undefined));
    return made;
  }

  function pressInto(field, key) {
    if (field.selectionStart === 0 && field.selectionEnd === field.value.length) field.value = "";
    if (key === "⌫") field.value = field.value.slice(0, -1);
    else if (key.length === 3) field.value += (/\d$/.test(field.value) ? "-" : "") + key;
    else if (field.value.length < 20) field.value += key;
    field.setSelectionRange(field.value.length, field.value.length);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /* The keys of a number; with fractions where it is in inches. */
  function keysFor(field, unit) {
    const names = { "⌫": "rub out", ".": "point", "/": "stroke", "-": "and" };
    const key = (one) => make("button", { type: "button", class: "key", "aria-label": names[one] || null, on: () => pressInto(field(), one) }, one);
    const digits = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"].map(key);
    const parts = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "1/16", "/", "-"].map(key);
    return [make("div", { class: "keys", role: "group", "aria-label": "Keys" }, ...digits),
      unit === "in" ? make("div", { class: "keys fractions", role: "group", "aria-label": "Fractions" }, ...parts) : null];
  }

  /* Numbers on a form: the page's own keys under the one that is being typed, for a tablet's have no fractions. */
  function padUnder(field) {
    if (find("#pad") && find("#pad").dataset.of === field.name) return;
    if (find("#pad")) find("#pad").remove();
    const pad = make("div", { id: "pad", class: "pad", "data-of": field.name }, ...keysFor(() => field, field.dataset.pad).filter(Boolean));
    (field.closest(".chips, .line") || field).after(pad);
  }

  document.addEventListener("focusin", (focus) => {
    if (focus.target.dataset && focus.target.dataset.pad) padUnder(focus.target);
  });

  const button = (said, does, kind = "") => make("button", { type: "button", class: kind, on: does }, said);

  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  }

  const say = (words) => { const place = find("#said"); if (place) place.textContent = words; };

  async function call(path, body, patience = 30000) {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), patience);
    try {
      const traits = body === undefined ? {} : {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
      };
      const answer = await fetch(path, { ...traits, signal: stop.signal, cache: "no-store" });
      const text = await answer.text();
      let said = {};
      try { said = JSON.parse(text); } catch { said = { problem: text }; }
      return { status: answer.status, said };
    } finally {
      clearTimeout(clock);
    }
  }

  // ---- what waits in this browser

  let order = Date.now();
  let sending = null;
  let pause = 1000;
  let retry = null;
  const answers = new Map(); // event id -> answer, of those somebody asks for

  function keys(stem) {
    const found = [];
    for (let n = 0; n < localStorage.length; n += 1) {
      const key = localStorage.key(n);
      if (key.startsWith(stem)) found.push(key);
    }
    return found.sort();
  }

  function waitingEvents(sheet) {
    return keys(WAITS).map((key) => JSON.parse(localStorage.getItem(key))).filter((one) => one.sheet === sheet);
  }

  function showWaiting() {
    const place = find("#waiting");
    if (!place) return;
    const count = keys(WAITS).length;
    const refused = keys(REFUSED).length;
    const said = [];
    if (count) said.push(`${count} value${count === 1 ? " waits" : "s wait"} in this tablet until the shop's computer answers`);
    if (refused) said.push(`${refused} could not be taken: ${JSON.parse(localStorage.getItem(keys(REFUSED)[0])).problem}`);
    const words = said.join("; ");
    if (place.textContent !== words) place.textContent = words;
    if (refused && !find("#waiting button")) {
      place.append(" ", button("I have seen it", () => { keys(REFUSED).forEach((key) => localStorage.removeItem(key)); showWaiting(); }));
    }
  }

  function keep(sheet, event) {
    order += 1;
    const key = `${WAITS}${String(order).padStart(16, "0")}:${event.id}`;
    localStorage.setItem(key, JSON.stringify({ sheet, event }));
  }

  async function sendAll() {
    if (sending) return sending;
    sending = (async () => {
      for (let list = keys(WAITS); list.length; list = keys(WAITS)) {
        const key = list[0];
        const { sheet, event } = JSON.parse(localStorage.getItem(key));
        const { status, said } = await call(`/call/sheet/${sheet}/event`, event, PATIENCE);
        if (status === 401) { location.href = "/enter"; return; }
        if (status === 200) {
          answers.set(event.id, said);
        } else if (status === 400) {
          localStorage.setItem(`${REFUSED}${event.id}`, JSON.stringify({ sheet, event, problem: said.problem }));
          answers.set(event.id, said);
        } else {
          throw new Error(said.problem || String(status));
        }
        localStorage.removeItem(key);
        pause = 1000;
      }
    })();
    try {
      await sending;
    } finally {
      sending = null;
      showWaiting();
    }
  }

  function sendLater() {
    clearTimeout(retry);
    retry = setTimeout(async () => {
      try { await sendAll(); } catch { pause = Math.min(pause * 1.6, 8000); sendLater(); }
    }, pause);
  }

  /* Keeps an event and waits for its answer, but not for ever: null when it could not be sent yet. */
  async function save(sheet, event) {
    keep(sheet, event);
    const until = Date.now() + PATIENCE;
    try {
      while (!answers.has(event.id) && Date.now() < until) await sendAll();
    } catch {
      showWaiting();
      sendLater();
      return null;
    }
    const answer = answers.get(event.id) || null;
    answers.delete(event.id);
    return answer;
  }

  window.addEventListener("online", () => { pause = 1000; sendLater(); });

  // ---- beginning a sheet

  async function begin(kind, subject, unit, cells, known) {
    const sheet = newId();
    const event = { id: newId(), what: "start", kind, subject, unit, cells, known, at: new Date().toISOString() };
    const answer = await save(sheet, event);
    if (answer && answer.problem) { say(answer.problem); return null; }
    if (!answer) { say("The shop's computer does not answer. It is kept here and sent again by itself."); return null; }
    return sheet;
  }

  async function measure(batch, unit) {
    const sheet = await begin("batch", batch, unit, {}, true);
    if (sheet) location.href = `/sheet/${sheet}`;
  }

  // ---- pages with buttons

  function startPage() {
    document.addEventListener("click", async (tap) => {
      const does = tap.target.closest("[data-do]");
      if (!does) return;
      if (does.dataset.do === "measure") measure(does.dataset.batch, does.dataset.unit);
      if (does.dataset.do === "learn") beginWork("/call/learn", {});
      if (does.dataset.do === "correct") beginWork("/call/correct", { target: does.dataset.target });
      if (does.dataset.do === "undo") askUndo(does);
    });
  }

  async function beginWork(path, body) {
    const { status, said } = await call(path, body).catch(() => ({ said: { problem: "no answer; try again" } }));
    if (status !== 200) { say(said.problem); return; }
    if (document.body.dataset.page === "work") watchWork(); else location.href = "/work";
  }

  async function watchWork() {
    const answer = await call("/call/work", undefined, 120000).catch(() => null);
    if (!answer || answer.status !== 200) { setTimeout(watchWork, 3000); return; }
    const work = answer.said;
    const lacking = work.not_learned;
    if (!work.running) {
      find("#learned").textContent = lacking === null ? "Nothing was learned yet."
        : lacking.length ? `The model has not learned: ${lacking.join(", ")}. It orders no cut before it has.` : "The model has learned every measured batch.";
    }
    const now = work.running ? `${work.title}: ${work.progress}` : work.problems.length ? `${work.title}: ${work.problems.join("; ")}` : work.done ? `${work.title}: done.` : "Nothing.";
    if (find("#progress").textContent !== now) find("#progress").textContent = now;
    find("#done").hidden = !work.done;
    find("#done").textContent = work.done;
    find('[data-do="learn"]').disabled = work.running;
    if (work.running) setTimeout(watchWork, 1000);
  }

  function askUndo(from) {
    const place = find("#said");
    const yes = button("Yes, take it back", async () => {
      place.textContent = "Taking it back.";
      const { said } = await call("/call/undo", {});
      place.textContent = said.problem ? [said.problem, ...(said.problems || [])].join("; ") : said.lines.join("; ");
      if (said.sheet) place.append(" ", make("a", { class: "button go", href: `/sheet/${said.sheet}` }, "Open it again"));
    }, "go");
    place.replaceChildren("Take back what was added to the book last? ", yes, " ",
      button("No", () => { place.replaceChildren(); from.focus(); }));
    yes.focus();
  }

  // ---- the form of a new batch, mandrel, wanted bell, gauge

  function formPage() {
    const form = find("#fields");
    all("details", form).forEach((field) => { if (field.dataset.open) field.open = form.dataset.kind !== "batch"; });
    form.addEventListener("change", (change) => showField(change.target.closest("details"), true));
    form.addEventListener("input", (typed) => {
      if (!typed.target.classList.contains("typed")) return;
      const field = typed.target.closest("details");
      find('input[value="other"]', field).checked = true;
      showField(field, false);
    });
    find('[data-do="rest"]', form).addEventListener("click", () => {
      all("details", form).filter((field) => said(field) === undefined).forEach((field) => {
        const none = find('input[value="none"]', field);
        if (none) { none.checked = true; showField(field, true); }
      });
    });
    form.addEventListener("submit", (submit) => { submit.preventDefault(); keepForm(form); });
  }

  /* What a field says: a text, null for "not written down", undefined where nothing was said yet. */
  function said(field) {
    const chosen = find("input[type=radio]:checked", field);
    if (!chosen) return undefined;
    if (chosen.value === "none") return null;
    if (chosen.value === "other") return find(".typed", field).value.trim() || undefined;
    return chosen.value.slice(2);
  }

  function showField(field, close) {
    if (!field) return;
    const text = said(field);
    const shown = text && field.classList.contains("choice") ? text.replaceAll("_", " ") : text;
    find(".value", field).textContent = text === undefined ? "not said yet" : text === null ? "not written down" : shown;
    const chosen = find("input[type=radio]:checked", field);
    if (chosen && chosen.value === "other" && close) find(".typed", field).focus();
    field.classList.toggle("missing", text === undefined);
  }

  async function keepForm(form) {
    const fields = all("details", form);
    const open = fields.filter((field) => said(field) === undefined);
    if (open.length) {
      open.forEach((field) => { field.open = true; field.classList.add("missing"); });
      say(`Still to say: ${open.map((field) => find(".label", field).textContent).join(", ")}.`);
      find("input", open[0]).focus();
      return;
    }
    const cells = { ...JSON.parse(form.dataset.fixed), ...Object.fromEntries(fields.map((field) => [field.dataset.name, said(field)])) };
    const name = { batch: "batch_id", mandrel: "mandrel_id", target: "target_id", gauge: "gauge_id" }[form.dataset.kind];
    const sheet = await begin(form.dataset.kind, cells[name], form.dataset.unit, cells, false);
    if (!sheet) return;
    if (form.dataset.kind !== "gauge") { location.href = `/sheet/${sheet}`; return; }
    const { said: done } = await call(`/call/sheet/${sheet}/finish`, {});
    if (done.problem) say([done.problem, ...(done.problems || [])].join("; "));
    else location.href = "/";
  }

  // ---- a sheet in the making

  const sheet = { id: "", view: null, readings: new Map(), bell: null, way: null, places: [], at: 0, seen: new Set() };

  const placeKey = (place) => JSON.stringify([place.bell, place.stage, place.kind, place.datum, place.fixed, place.unit, place.angle, place.gauge]);

  async function sheetPage() {
    sheet.id = find("#heading").dataset.sheet;
    try {
      await sendAll();
    } catch { sendLater(); }
    const answer = await call(`/call/sheet/${sheet.id}`).catch(() => null);
    if (!answer || answer.status !== 200) {
      show(make("p", {}, answer && answer.status === 404 ? "This sheet is finished." : "The shop's computer does not answer. What was entered is kept; this page tries again."),
        make("p", { class: "row" }, button("Try again", sheetPage, "go"), make("a", { class: "button", href: "/" }, "To the shop")));
      if (!answer || answer.status !== 404) setTimeout(sheetPage, 3000);
      return;
    }
    sheet.view = answer.said;
    sheet.readings = new Map(answer.said.readings.map((one) => [placeKey(one.place), one.taken]));
    for (const { event } of waitingEvents(sheet.id)) {
      if (event.what === "reading") sheet.readings.set(placeKey(event.place), { ...event, event_id: event.id });
      if (event.what === "bell" && !sheet.view.bells.some((one) => one.id === event.bell)) sheet.view.bells.unshift({ id: event.bell, cells: event.cells });
    }
    const before = JSON.parse(localStorage.getItem(AT + sheet.id) || "null");
    if (before && (sheet.view.kind !== "batch" || sheet.view.bells.some((one) => one.id === before.bell))) {
      sheet.bell = before.bell;
      chooseWay(before.way);
    } else if (sheet.view.kind === "batch") {
      bellsView();
    } else {
      profileView();
    }
  }

  function show(...inside) {
    const place = find("#stage");
    document.body.classList.remove("typing");
    place.replaceChildren(...inside.filter(Boolean));
    say("");
    return place;
  }

  function count(bell) {
    let values = 0;
    for (const [key, taken] of sheet.readings) if (JSON.parse(key)[0] === bell && taken.outcome === "value") values += 1;
    return values;
  }

  const bellWords = (bell) => `${bell.id}: ${count(bell.id)} value${count(bell.id) === 1 ? "" : "s"} here${bell.cells.verdict ? `, ${bell.cells.verdict}` : ""}`;

  function bellsView() {
    localStorage.removeItem(AT + sheet.id);
    const bells = sheet.view.bells;
    const next = nextBell();
    show(
      make("h2", {}, "Which bell?"),
      make("ul", { class: "cards" },
        ...bells.map((bell) => make("li", {}, button(bellWords(bell), () => { sheet.bell = bell.id; waysView(); }))),
        make("li", {}, button(`New bell ${next}`, () => newBell(next), "go"))),
      make("p", { class: "row" }, button("Finish: into the book", finishView)),
    );
  }

  function nextBell() {
    const names = new Set(sheet.view.bells.map((bell) => bell.id));
    for (let n = names.size + 1; ; n += 1) {
      const name = `${sheet.view.subject}-${String(n).padStart(2, "0")}`;
      if (!names.has(name)) return name;
    }
  }

  async function newBell(name) {
    const cells = { order_in_batch: String(sheet.view.bells.length + 1) };
    sheet.view.bells.unshift({ id: name, cells });
    sheet.bell = name;
    waysView();
    await save(sheet.id, { id: newId(), what: "bell", bell: name, cells, at: new Date().toISOString() });
  }

  function bellCells() {
    const bell = sheet.view.bells.find((one) => one.id === sheet.bell);
    return bell ? bell.cells : {};
  }

  async function tellBell(cells) {
    Object.assign(bellCells(), cells);
    await save(sheet.id, { id: newId(), what: "bell", bell: sheet.bell, cells, at: new Date().toISOString() });
  }

  function chips(name, legend, options, chosen, many = false) {
    return make("fieldset", { class: "choose" }, make("legend", {}, legend), make("div", { class: "chips" },
      ...options.map(([value, label]) => make("label", { class: "chip" },
        make("input", { type: many ? "checkbox" : "radio", name, value, checked: many ? chosen.includes(value) : value === chosen }),
        make("span", {}, label)))));
  }

  const picked = (name) => all(`input[name="${name}"]:checked`).map((one) => one.value);

  function waysView() {
    const known = bellCells().known;
    show(
      make("h2", {}, `${sheet.bell}: how is it measured?`),
      sheet.way ? make("p", { class: "row" }, button(`As just now: ${sheet.places.length} places`, () => chooseWay(sheet.way), "go")) : null,
      sheet.view.ways.length ? make("p", {}, "As before on this mandrel:") : null,
      make("ul", { class: "cards" }, ...sheet.view.ways.map((way) => make("li", {},
        button(`${way.label}: ${way.stations.length} stations`, () => chooseWay(way), "wide-button")))),
      make("p", { class: "row" }, button("Another way", otherWayView), button("Bells", bellsView)),
      known ? null : verdictPart(),
    );
  }

  function verdictPart() {
    const part = chips("verdict", "Verdict on this bell", [["good", "good"], ["rework", "rework"], ["scrap", "scrap"]], bellCells().verdict || "");
    part.addEventListener("change", () => tellBell({ verdict: picked("verdict")[0] }));
    return part;
  }

  function input(name, label, value, mode = "decimal") {
    return make("label", { class: "line" }, make("span", {}, label),
      make("input", { class: "typed", name, value, inputmode: mode === "decimal" ? "none" : mode, "data-pad": mode === "decimal" ? sheet.view.unit : null, autocomplete: "off", maxlength: "20" }));
  }

  const spacings = () => (sheet.view.unit === "in" ? ["1/4", "1/2", "1", "2"] : ["5", "10", "20", "50"]);

  function otherWayView() {
    const view = sheet.view;
    show(
      make("h2", {}, `${sheet.bell}: another way`),
      chips("kind", "What is read", view.kinds.map((one) => [one.name, one.label]), ""),
      chips("datum", "Where z is counted from", view.datums.map((one) => [one.name, one.label]), ""),
      chips("stage", "Stage", view.stages.map((one) => [one.name, one.label]), ""),
      chips("gauge", "Gauge", view.gauges.map((one) => [one.id, one.what ? `${one.id}: ${one.what}` : one.id]), ""),
      chips("angle", "Angles from the seam; none ticked: not written down", [["0", "0°"], ["90", "90°"], ["180", "180°"], ["270", "270°"]], [], true),
      view.gauges.length ? null : make("p", {}, "The book has no gauge yet: ", make("a", { href: "/new/gauge", class: "button" }, "New gauge")),
      ...stationParts(),
      make("p", { class: "row" }, button("Begin", beginOtherWay, "go"), button("Back", waysView)),
    );
  }

  function stationParts() {
    const unit = sheet.view.unit;
    return [
      chips("spacing", `Stations every (${unit})`, spacings().map((one) => [one, one]), spacings()[2]),
      make("div", { class: "row" }, input("from", `First (${unit})`, "0"), input("to", `Last (${unit})`, sheet.view.length || "")),
    ];
  }

  function number(text) {
    const mixed = /^\s*(-?)(?:(\d+)(?:\s*-\s*|\s+))?(\d+)\s*\/\s*(\d+)\s*$/.exec(text);
    if (mixed) return (mixed[1] ? -1 : 1) * (Number(mixed[2] || 0) + Number(mixed[3]) / Number(mixed[4]));
    return /^\s*-?(\d+\.?\d*|\.\d+)\s*$/.test(text) ? Number(text) : NaN;
  }

  function inMarks(value) {
    if (sheet.view.unit !== "in") return String(Math.round(value * 1000) / 1000);
    const parts = Math.round(value * 64);
    if (Math.abs(parts / 64 - value) > 1e-6) return String(Math.round(value * 10000) / 10000);
    const whole = Math.floor(parts / 64);
    let [top, bottom] = [parts % 64, 64];
    while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
    if (!top) return String(whole);
    return whole ? `${whole}-${top}/${bottom}` : `${top}/${bottom}`;
  }

  function typedStations() {
    const [from, to, step] = [number(find('[name="from"]').value), number(find('[name="to"]').value), number(picked("spacing")[0] || "")];
    if (![from, to, step].every(Number.isFinite) || to < from || (to - from) / step > 400) return null;
    const found = [];
    for (let n = 0; from + n * step <= to + 1e-9; n += 1) found.push(inMarks(from + n * step));
    if (to - number(found[found.length - 1]) > 1e-6) found.push(inMarks(to));
    return found;
  }

  function beginOtherWay() {
    const way = { angles: picked("angle") };
    for (const name of ["kind", "datum", "stage", "gauge"]) {
      [way[name]] = picked(name);
      if (!way[name]) { say(`Still to say: ${{ kind: "what is read", datum: "where z is counted from", stage: "the stage", gauge: "the gauge" }[name]}.`); return; }
    }
    way.stations = typedStations();
    if (!way.stations) { say("Say the first and the last station as numbers, such as 0 and 12-1/2."); return; }
    if (!way.angles.length) way.angles = [""];
    chooseWay(way);
  }

  // ---- a mandrel's or a wanted bell's own stations

  function profileView() {
    const kind = sheet.view.kinds[0];
    show(
      make("h2", {}, `${kind.label}: its stations`),
      make("p", {}, "At least 8 stations, tail to rim."),
      ...stationParts(),
      make("p", { class: "row" },
        button("Begin", () => {
          const stations = typedStations();
          if (!stations) { say("Say the first and the last station as numbers, such as 0 and 12-1/2."); return; }
          chooseWay({ kind: kind.name, datum: "tail", stage: "", gauge: "", angles: [""], stations });
        }, "go"),
        sheet.view.line && sheet.view.line.length ? button("As the mandrel stands", asMandrel) : null,
        button("Finish: into the book", finishView)),
    );
  }

  async function asMandrel() {
    say("Writing down the line of the mandrel.");
    for (const [fixed, typed] of sheet.view.line) {
      const place = { bell: sheet.view.subject, stage: "", kind: "target", datum: "tail", fixed, unit: sheet.view.unit, angle: "", gauge: "" };
      const event = { id: newId(), what: "reading", place, outcome: "value", typed, unit: sheet.view.unit, answer: "", replaces: "", at: new Date().toISOString() };
      keep(sheet.id, event);
      sheet.readings.set(placeKey(place), { ...event, event_id: event.id });
    }
    try { await sendAll(); } catch { sendLater(); }
    finishView();
  }

  // ---- value by value

  function chooseWay(way) {
    sheet.way = way;
    const kind = sheet.view.kinds.find((one) => one.name === way.kind);
    const bell = sheet.view.kind === "batch" ? sheet.bell : sheet.view.subject;
    sheet.places = way.stations.flatMap((fixed) => way.angles.map((angle) => (
      { bell, stage: way.stage, kind: way.kind, datum: way.datum, fixed, unit: kind.fixed_unit, angle, gauge: way.gauge })));
    localStorage.setItem(AT + sheet.id, JSON.stringify({ bell: sheet.bell, way }));
    if (way.datum === "witness" && !bellCells().known && !bellCells().witness_z) { witnessView(); return; }
    const first = sheet.places.findIndex((place) => !sheet.readings.has(placeKey(place)));
    keypadView(first < 0 ? sheet.places.length : first);
    loadCurve();
  }

  function witnessView() {
    const unit = sheet.view.unit;
    show(make("h2", {}, `${sheet.bell}: where was the line scribed?`),
      sheet.view.witness ? make("p", { class: "row" }, button(`As before: ${sheet.view.witness}`, () => { tellBell({ witness_z: sheet.view.witness }); chooseWay(sheet.way); }, "go")) : null,
      input("witness", `Station on the mandrel, before release (${unit})`, ""),
      make("p", { class: "row" },
        button("Keep", async () => {
          const typed = find('[name="witness"]').value;
          if (!Number.isFinite(number(typed))) { say("Say it as a number, such as 9-1/4."); return; }
          tellBell({ witness_z: typed });
          chooseWay(sheet.way);
        }, "go"),
        button("Back", waysView)));
    find('#stage button, [name="witness"]').focus();
  }

  let curve = null;

  async function loadCurve() {
    curve = null;
    if (sheet.view.kind !== "batch" || !sheet.places.length) return;
    const query = new URLSearchParams(sheet.places[0]);
    const answer = await call(`/call/sheet/${sheet.id}/curve?${query}`).catch(() => null);
    if (answer && answer.status === 200) { curve = answer.said; drawCurve(); }
  }

  const words = (place) => {
    const kind = sheet.view.kinds.find((one) => one.name === place.kind);
    return `${kind.sets} ${place.fixed} ${place.unit}${place.angle ? `, ${place.angle}°` : ""}`;
  };

  function keypadView(at) {
    sheet.at = at;
    const place = sheet.places[at];
    if (!place) { doneView(); return; }
    const kind = sheet.view.kinds.find((one) => one.name === place.kind);
    const stands = sheet.readings.get(placeKey(place));
    const form = make("form", { class: "keypad", novalidate: true, autocomplete: "off" },
      make("p", { class: "whose" }, sheet.view.kind === "batch" ? `${place.bell}, ${at + 1} of ${sheet.places.length}` : `${at + 1} of ${sheet.places.length}`),
      make("label", { class: "asked", for: "value" }, `${kind.asks[0].toUpperCase()}${kind.asks.slice(1)}, `, make("strong", { id: "place" }, words(place)), ` (${kind.unit})`),
      make("input", { id: "value", class: "reading", inputmode: "none", maxlength: "20", value: stands && stands.outcome === "value" ? stands.typed : "" }),
      make("p", { class: "stands quiet" }, stands ? `Stands: ${stands.outcome === "value" ? stands.typed : stands.outcome === "skipped" ? "skipped" : "not reached"}` : ""),
      make("div", { id: "doubt", role: "alert" }),
      ...keysFor(() => find("#value"), kind.unit),
      make("div", { class: "steps" },
        button("Back", () => keypadView(Math.max(0, sheet.at - 1))),
        button("Skip", () => takeOutcome("skipped")),
        button("Not reached", () => takeOutcome("not_reached")),
        make("button", { type: "submit", class: "go" }, "Next")),
      make("figure", { id: "curve" }),
      make("p", { class: "row" }, button(sheet.view.kind === "batch" ? "Other way or bell" : "Stations", leaveKeys)));
    form.addEventListener("submit", (submit) => { submit.preventDefault(); takeValue(); });
    show(form);
    document.body.classList.add("typing"); // the keys come up to the thumb
    drawCurve();
    const field = find("#value");
    field.focus({ preventScroll: true });
    field.select();
  }

  function leaveKeys() {
    localStorage.removeItem(AT + sheet.id);
    if (sheet.view.kind === "batch") waysView(); else profileView();
  }

  function event(place, outcome, typed, answer = "") {
    const kind = sheet.view.kinds.find((one) => one.name === place.kind);
    const before = sheet.readings.get(placeKey(place));
    return {
      id: newId(), what: "reading", place, outcome, typed, unit: kind.unit, answer,
      replaces: before ? before.event_id : "", at: new Date().toISOString(),
    };
  }

  async function takeOutcome(outcome) {
    const place = sheet.places[sheet.at];
    await takeEvent(place, event(place, outcome, ""));
  }

  async function takeValue() {
    const place = sheet.places[sheet.at];
    const typed = find("#value").value.trim();
    const before = sheet.readings.get(placeKey(place));
    if (!typed) { doubt("Nothing was typed.", ["Type a value, or tap Skip or Not reached."]); return; }
    if (before && before.outcome === "value" && before.typed === typed && !before.doubted) { keypadView(sheet.at + 1); return; }
    if (!Number.isFinite(number(typed))) { doubt(`${typed} is no number.`, ["Such as 2.375 or 2-3/8."]); return; }
    await takeEvent(place, event(place, "value", typed, before && before.doubted && before.typed === typed ? "stands" : ""));
  }

  let busy = false;

  async function takeEvent(place, made) {
    if (busy) return;
    busy = true;
    all(".steps button").forEach((one) => { one.disabled = true; });
    try {
      const answer = await save(sheet.id, made);
      if (answer && answer.problem) { doubt("That could not be taken.", [answer.problem]); return; }
      if (answer && answer.taken) { otherTablet(place, made, answer.taken); return; }
      sheet.readings.set(placeKey(place), { ...made, event_id: made.id });
      if (answer && answer.dot && curve) curve.dots.push(answer.dot);
      if (answer && answer.doubts && answer.doubts.length) { readAgain(place, made, answer.doubts); return; }
      keypadView(sheet.at + 1);
    } finally {
      busy = false;
      all(".steps button").forEach((one) => { one.disabled = false; });
    }
  }

  function doubt(title, lines, ...buttons) {
    find("#doubt").replaceChildren(make("p", { class: "title" }, title), ...lines.filter(Boolean).map((line) => make("p", {}, line)),
      make("p", { class: "row" }, ...buttons));
  }

  const sentence = (words) => (words ? `${words[0].toUpperCase()}${words.slice(1)}${/[.?]$/.test(words) ? "" : "."}` : "");

  function readAgain(place, made, doubts) {
    const taken = sheet.readings.get(placeKey(place));
    taken.doubted = true;
    const impossible = doubts.some((one) => one.grade === "error");
    const lines = doubts.flatMap((one) => [sentence(one.what), one.expected ? `Expected ${one.expected}.` : "", sentence(one.remedy)]);
    const again = button("Read again", () => { find("#doubt").replaceChildren(); const field = find("#value"); field.value = ""; field.focus(); }, "go");
    doubt("Read again?", lines, again,
      impossible ? button("Leave it out", () => takeOutcome("skipped"))
        : button(`It stands: ${made.typed}`, () => takeEvent(place, event(place, "value", made.typed, "stands"))));
    find("#value").select(); // the next key begins a new value
    drawCurve();
    again.focus();
  }

  function otherTablet(place, made, taken) {
    const there = taken.outcome === "value" ? taken.typed : taken.outcome;
    sheet.readings.set(placeKey(place), { typed: taken.typed, outcome: taken.outcome, event_id: taken.id });
    doubt(`Another tablet wrote ${there} here.`, [`You have ${made.typed || made.outcome}.`],
      button(`Keep ${there}`, () => keypadView(sheet.at + 1), "go"),
      button("Mine stands", () => takeEvent(place, event(place, made.outcome, made.typed, made.answer))));
  }

  function doneView() {
    const batch = sheet.view.kind === "batch";
    const skipped = sheet.places.filter((place) => (sheet.readings.get(placeKey(place)) || {}).outcome === "skipped");
    localStorage.removeItem(AT + sheet.id);
    show(make("h2", {}, batch ? `${sheet.bell}: that was the last station` : "That was the last station"),
      skipped.length ? make("p", {}, `Skipped: ${skipped.map((place) => place.fixed).join(", ")}.`) : null,
      make("p", { class: "row" },
        batch ? button("Next bell", () => newBell(nextBell()), "go") : button("Finish: into the book", finishView, "go"),
        batch ? button("Same bell, another way", waysView) : null,
        button("Back to the values", () => chooseAt(0)),
        batch ? button("Finish: into the book", finishView) : null),
      batch && !bellCells().known ? verdictPart() : null,
      make("figure", { id: "curve" }));
    drawCurve();
  }

  function chooseAt(at) {
    localStorage.setItem(AT + sheet.id, JSON.stringify({ bell: sheet.bell, way: sheet.way }));
    keypadView(at);
  }

  // ---- the dots on their curve

  function drawCurve() {
    const place = find("#curve");
    if (!place || !curve || (!curve.ribbon.length && !curve.dots.length)) return;
    const [wide, high, edge] = [360, 140, 28];
    const z = [...curve.ribbon.map((one) => one[0]), ...curve.dots.map((one) => one[0])];
    // A value that is far off stands at the edge: the curve beside it stays one that can be read.
    const before = curve.ribbon.flatMap((one) => [one[1], one[2]]);
    const room = before.length ? Math.max(...before, 0) - Math.min(...before, 0) : Infinity;
    const held = (value) => (before.length ? Math.max(Math.min(...before, 0) - room, Math.min(Math.max(...before, 0) + room, value)) : value);
    const y = [...before, ...curve.dots.map((one) => held(one[1])), 0];
    const [z0, z1, y0, y1] = [Math.min(...z), Math.max(...z), Math.min(...y), Math.max(...y)];
    const x = (value) => edge + ((value - z0) / (z1 - z0 || 1)) * (wide - 2 * edge);
    const up = (value) => high - edge - ((value - y0) / (y1 - y0 || 1)) * (high - 2 * edge);
    const ribbon = [...curve.ribbon.map((one) => `${x(one[0])},${up(one[2])}`), ...[...curve.ribbon].reverse().map((one) => `${x(one[0])},${up(one[1])}`)];
    const last = curve.dots[curve.dots.length - 1];
    const said = last ? `Newest value: ${last[1].toFixed(curve.unit === "mm" ? 2 : 1)} ${curve.unit} off the steel at ${last[0]} ${curve.station_unit}` : "The bells before";
    place.replaceChildren(make("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": said },
      ribbon.length > 4 ? make("polygon", { points: ribbon.join(" "), class: "ribbon" }) : null,
      make("line", { x1: edge, x2: wide - edge, y1: up(0), y2: up(0), class: "zero" }),
      ...curve.dots.map((dot, n) => make("circle", { cx: x(dot[0]), cy: up(held(dot[1])), r: n === curve.dots.length - 1 ? 6 : 3.5, class: n === curve.dots.length - 1 ? "dot newest" : "dot" })),
      make("text", { x: 4, y: 14, class: "mark" }, `${y1.toFixed(curve.unit === "mm" ? 2 : 0)} ${curve.unit}`),
      make("text", { x: 4, y: high - 5, class: "mark" }, `${y0.toFixed(curve.unit === "mm" ? 2 : 0)} ${curve.unit}; tail`),
      make("text", { x: wide - 4, y: high - 5, class: "mark end" }, "rim")),
    make("figcaption", {}, last ? `${said}. Shaded: the bells before.` : "Shaded: how far the bells before lie off the steel."));
  }

  // ---- finishing

  const counted = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;

  function finishView() {
    let values = 0;
    for (const taken of sheet.readings.values()) if (taken.outcome === "value") values += 1;
    const batch = sheet.view.kind === "batch";
    show(make("h2", {}, "Into the book?"),
      make("p", {}, batch ? `${sheet.view.subject}: ${counted(sheet.view.bells.length, "bell")}, ${counted(values, "value")}.` : `${sheet.view.subject}: ${values} stations.`),
      make("p", { class: "row" }, button("Put it in the book", putIn, "go"), button("Not yet", batch ? bellsView : profileView)),
      make("ul", { id: "problems" }));
  }

  /* What waits goes first; the shop's computer is given a minute to come back. */
  async function allSent() {
    const until = Date.now() + 60000;
    for (;;) {
      try {
        await sendAll();
        return;
      } catch (failed) {
        if (Date.now() > until) throw failed;
        say("The shop's computer does not answer yet; trying again.");
        await new Promise((done) => { setTimeout(done, 2000); });
      }
    }
  }

  async function putIn() {
    say("Looking it through and writing it.");
    let done;
    try {
      await allSent();
      done = await call(`/call/sheet/${sheet.id}/finish`, {}, 180000);
    } catch {
      sendLater();
      say("The shop's computer does not answer. Nothing is lost: try again in a moment.");
      return;
    }
    if (done.status !== 200) {
      say("It is not in the book yet; everything is kept.");
      find("#problems").replaceChildren(...[...(done.said.problems || [done.said.problem])].map((one) => make("li", {}, one)));
      return;
    }
    localStorage.removeItem(AT + sheet.id);
    show(make("h2", {}, "It is in the book"), make("ul", { id: "lines" }, ...done.said.lines.map((line) => make("li", {}, line))),
      make("p", { class: "row" }, make("a", { class: "button go", href: "/" }, "To the shop")));
  }

  // ---- asking the model

  const ask = { changes: new Map(), sliders: null, due: null, number: 0 };

  function askPage() {
    find("#as-now").addEventListener("click", () => {
      ask.changes.clear();
      all("#sliders input").forEach((one) => { one.value = ask.sliders.find((each) => each.name === one.name).values.indexOf(ask.sliders.find((each) => each.name === one.name).present); showSlider(one); });
      askNow();
    });
    askNow();
    call("/call/work", undefined, 120000).then(({ said }) => {
      const lacking = said.not_learned;
      find("#learned").textContent = lacking && lacking.length ? `The model has not learned: ${lacking.join(", ")}.` : "";
    }).catch(() => {});
  }

  async function askNow() {
    clearTimeout(ask.due);
    ask.number += 1;
    const number = ask.number;
    const began = performance.now();
    const answer = await call("/call/ask", { mandrel: find(".asking").dataset.mandrel, changes: [...ask.changes] }, 120000).catch(() => null);
    if (number !== ask.number) return;
    if (!answer || answer.said.problem) { say(answer ? answer.said.problem : "No answer."); find("#standing").textContent = ""; return; }
    const said = answer.said;
    if (!ask.sliders) makeSliders(said.sliders);
    const standing = find("#standing");
    if (!said.bell) standing.textContent = `The bell as it is spun now is being worked out (model ${said.version}, ${said.bells} bells).`;
    else {
      const missing = said.missing.map((one) => ask.sliders.find((each) => each.name === one[0]).label);
      const words = said.exact ? "Worked out whole." : missing.length ? `Being worked out, and left out until then: ${missing.join(", ")}.` : "Joined from each change alone; being worked out whole.";
      const more = said.worked < said.of ? ` ${said.worked} of ${said.of} changes are known.` : "";
      if (standing.textContent !== words + more) standing.textContent = words + more;
      drawAnswer(said);
      document.body.dataset.redrawn = String(Math.round(performance.now() - began));
      document.body.dataset.exact = String(said.exact);
      document.body.dataset.known = said.worked === said.of ? "all" : "some";
    }
    if (!said.bell || !said.exact || said.worked < said.of) ask.due = setTimeout(askNow, 700);
  }

  function makeSliders(sliders) {
    ask.sliders = sliders;
    find("#sliders").replaceChildren(...sliders.map((one) => {
      const slider = make("input", { type: "range", name: one.name, id: `slider-${one.name}`, min: 0, max: one.values.length - 1, step: 1, value: one.values.indexOf(one.present) });
      slider.addEventListener("input", () => {
        const value = one.values[Number(slider.value)];
        if (value === one.present) ask.changes.delete(one.name); else ask.changes.set(one.name, value);
        showSlider(slider);
        askNow();
      });
      return make("div", { class: "slider" },
        make("label", { for: `slider-${one.name}` }, `${one.label}${one.unit ? ` (${one.unit})` : ""}: `, make("output", {}, one.present)), slider);
    }));
    all("#sliders input").forEach(showSlider);
  }

  function showSlider(slider) {
    const one = ask.sliders.find((each) => each.name === slider.name);
    const value = one.values[Number(slider.value)];
    slider.setAttribute("aria-valuetext", value === one.present ? `${value}, as now` : `${value}, now ${one.present}`);
    find("output", slider.parentElement).textContent = value === one.present ? `${value}, as now` : `${value} (now ${one.present})`;
  }

  function drawAnswer(said) {
    const [wide, high, edge] = find("#answer").clientWidth < 560 ? [360, 240, 40] : [640, 300, 44];
    const both = [...said.present, ...said.bell];
    const z = both.map((one) => one[0]);
    const y = [0, ...said.present.map((one) => one[1]), ...said.bell.flatMap((one) => [one[2], one[3]])];
    const [z0, z1, y0, y1] = [Math.min(...z), Math.max(...z), Math.min(...y), Math.max(...y)];
    const x = (value) => edge + ((value - z0) / (z1 - z0 || 1)) * (wide - 2 * edge);
    const up = (value) => high - edge - ((value - y0) / (y1 - y0 || 1)) * (high - 2 * edge);
    const path = (line) => line.map((one, n) => `${n ? "L" : "M"}${x(one[0]).toFixed(1)} ${up(one[1]).toFixed(1)}`).join("");
    const band = [...said.bell.map((one) => `${x(one[0]).toFixed(1)},${up(one[2]).toFixed(1)}`), ...[...said.bell].reverse().map((one) => `${x(one[0]).toFixed(1)},${up(one[3]).toFixed(1)}`)];
    const last = said.bell.length - 1;
    const digits = said.unit === "mm" ? 3 : 1;
    const figure = (value) => value.toFixed(digits).replace(/^-(0\.0*)$/, "$1"); // no minus before nought
    const changed = (place) => said.change[Math.min(Math.round((place / last) * (said.change.length - 1)), said.change.length - 1)].map(figure);
    const [difference, least, most] = changed(last);
    const words = `At the rim ${said.bell[last][1].toFixed(digits)} ${said.unit} off the steel, now ${said.present[last][1].toFixed(digits)}: ${difference} ${said.unit} of difference, ${least} to ${most} (90 %)`;
    find("#answer").replaceChildren(make("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": words },
      make("polygon", { points: band.join(" "), class: "ribbon" }),
      make("line", { x1: edge, x2: wide - edge, y1: up(0), y2: up(0), class: "zero" }),
      make("path", { d: path(said.present), class: "present" }),
      make("path", { d: path(said.bell), class: "asked-line" }),
      make("text", { x: 4, y: 20, class: "mark large" }, `${y1.toFixed(digits)} ${said.unit} off the steel`),
      make("text", { x: 4, y: up(0) - 5, class: "mark large" }, "0"),
      make("text", { x: edge, y: high - 10, class: "mark large" }, `tail, ${z0.toFixed(said.station_unit === "mm" ? 0 : 2)} ${said.station_unit}`),
      make("text", { x: wide - edge, y: high - 10, class: "mark large end" }, `rim, ${z1.toFixed(said.station_unit === "mm" ? 0 : 2)} ${said.station_unit}`)),
    make("figcaption", {}, `${words}.`));
    const rows = [];
    for (let n = 0; n <= last; n += Math.max(1, Math.floor(last / 8))) rows.push(n);
    if (rows[rows.length - 1] !== last) rows.push(last);
    const near = (place) => said.present[Math.min(Math.round((place / last) * (said.present.length - 1)), said.present.length - 1)];
    find("#differences").hidden = false;
    find("#differences tbody").replaceChildren(...rows.map((n) => make("tr", {},
      make("th", { scope: "row" }, said.bell[n][0].toFixed(said.station_unit === "mm" ? 0 : 2)),
      make("td", {}, figure(near(n)[1])), make("td", {}, figure(said.bell[n][1])),
      make("td", {}, changed(n)[0], make("span", { class: "quiet band" }, `${changed(n)[1]} to ${changed(n)[2]}`)))));
    find("#differences caption").textContent = `Stations in ${said.station_unit === "mm" ? "mm" : "inches"}; off the steel and differences in ${said.unit}`;
  }

  // ---- while the book is being read

  async function waitingPage() {
    const answer = await call("/call/read").catch(() => null);
    if (answer && (answer.said.read || answer.status === 500)) location.reload();
    else setTimeout(waitingPage, answer ? 250 : 2000);
  }

  // ---- the code

  function enterPage() {
    find("#code").addEventListener("submit", async (submit) => {
      submit.preventDefault();
      const { status, said } = await call("/call/enter", { code: find("#figures").value }).catch(() => ({ said: { problem: "no answer; try again" } }));
      if (status === 200) location.href = keys(WAITS).length ? "/" : "/";
      else say(said.problem);
    });
    find("#figures").focus();
  }

  // ---- begin

  const pages = { waiting: waitingPage, ask: askPage, work: watchWork, form: formPage, sheet: sheetPage, enter: enterPage };
  const page = document.body.dataset.page;
  startPage();
  if (pages[page]) pages[page]();
  showWaiting();
  if (page !== "enter" && keys(WAITS).length) sendLater();
})();
