(function () {
  "use strict";
  const byId = (id) => document.getElementById(id);
  const shown = { drawn: 0, checked: 0, nested: 0, parts: [], findings: [] };
  const start = { turn: 45, tilt: 35.2644 };
  let view = Object.assign({}, start);
  let chosen = null, revision = 0;

  // All words are set as text and all pictures are read as XML, so that nothing in them is ever taken for markup.
  function made(name, text, attributes) {
    const element = document.createElement(name);
    if (text !== undefined && text !== null) { element.textContent = text; }
    Object.entries(attributes || {}).forEach(([key, value]) => element.setAttribute(key, value));
    return element;
  }
  function draw(frame, svg) {
    const read = new DOMParser().parseFromString(svg, "image/svg+xml");
    if (read.querySelector("parsererror")) { frame.textContent = "This picture cannot be shown."; return; }
    frame.replaceChildren(document.adoptNode(read.documentElement));
  }
  async function get(path) {
    const answer = await fetch(path, { cache: "no-store", credentials: "omit" });
    if (!answer.ok) { throw new Error("answered " + answer.status); }
    return answer;
  }

  // Text in a picture keeps its size on paper: a narrow screen asks for narrow paper.
  const paper = (frame) => Math.round(Math.min(277, Math.max(120, (frame.clientWidth || 700) / 3.4)));
  const query = (index, frame) =>
    "index=" + index + "&turn=" + view.turn + "&tilt=" + view.tilt + "&paper=" + paper(frame);

  function table(told) {
    const box = made("div", null, { class: "scroll", role: "region", tabindex: "0", "aria-label": told.title });
    const whole = made("table", null, { role: "table" });
    whole.append(made("caption", told.title));
    const head = made("thead", null, { role: "rowgroup" }), heading = made("tr", null, { role: "row" });
    told.columns.forEach(([text, isNumber]) => {
      heading.append(made("th", text, { scope: "col", role: "columnheader", class: isNumber ? "n" : "w" }));
    });
    head.append(heading);
    const body = made("tbody", null, { role: "rowgroup" });
    told.rows.forEach((row, number) => {
      const isSum = told.has_sum && number + 1 === told.rows.length;
      const line = made("tr", null, { role: "row", class: isSum ? "sum" : "row" });
      row.forEach((text, column) => {
        const [label, isNumber] = told.columns[column], kind = isNumber ? "n" : "w";
        line.append(column === 0
          ? made("th", text, { scope: "row", role: "rowheader", class: kind })
          : made("td", text, { role: "cell", class: kind, "data-label": label }));
      });
      body.append(line);
    });
    whole.append(head, body);
    box.append(whole);
    const all = [box];
    told.notes.forEach((note) => all.push(made("p", note, { class: "quiet" })));
    return all;
  }

  function index() {
    const at = shown.parts.findIndex((part) => part.name === chosen);
    if (at >= 0) { return at; }
    const bent = shown.parts.findIndex((part) => part.is_bent);
    return Math.max(0, bent);
  }
  function choices() {
    const list = byId("choose"), at = index();
    list.replaceChildren(...shown.parts.map((part, number) => {
      const option = made("option", part.count + " × " + part.name, { value: String(number) });
      option.selected = number === at;
      return option;
    }));
  }
  async function part() {
    if (shown.parts.length === 0) { return; }
    const told = await (await get("part?" + query(index(), byId("flat")))).json();
    byId("folded-figure").hidden = told.folded === null;
    draw(byId("flat"), told.flat);
    if (told.folded !== null) { draw(byId("folded"), told.folded); }
    byId("facts").textContent = told.facts;
    byId("folded").setAttribute("aria-label", (shown.parts[index()] || { name: "" }).name + ", bent up");
    byId("bends-box").hidden = told.bends === null;
    byId("bends").replaceChildren(...(told.bends ? table(told.bends) : []));
    document.documentElement.setAttribute("data-drawn", told.drawn);
  }

  function finding(one) {
    const item = made("li"), head = made("p");
    head.append(made("span", one.severity, { class: one.severity }), " " + one.problem);
    item.append(head);
    if (one.cure) { item.append(made("p", one.cure)); }
    if (one.rule) { item.append(made("p", one.rule, { class: "quiet" })); }
    return item;
  }
  function findings() {
    const at = index(), found = byId("found"), all = [];
    const list = (some) => { const box = made("ul", null, { class: "found" }); box.append(...some.map(finding)); return box; };
    const isLoud = (one) => one.severity !== "note";
    const add = (name, some, button) => {
      if (some.length === 0) { return; }
      const heading = made("h3", button === null ? name : "");
      if (button !== null) {
        const choose = made("button", name, { type: "button", "aria-label": "Show " + name });
        choose.addEventListener("click", () => choose_part(button));
        heading.append(choose);
      }
      all.push(heading);
      const loud = some.filter(isLoud), quiet = some.filter((one) => !isLoud(one));
      if (loud.length > 0) { all.push(list(loud)); }
      if (quiet.length > 0) {
        const more = made("details");
        more.append(made("summary", quiet.length === 1 ? "1 note" : quiet.length + " notes"), list(quiet));
        all.push(more);
      }
    };
    const of = (part) => shown.findings.filter((one) => one.part === part);
    add("The file", of(null), null);
    if (shown.parts[at]) { add(shown.parts[at].name, of(at), null); }
    // Of the others only what is loud: their notes are shown with them.
    shown.parts.forEach((other, number) => {
      if (number !== at) { add(other.name, of(number).filter(isLoud), number); }
    });
    found.replaceChildren(...all);
    const count = (severity) => shown.findings.filter((one) => one.severity === severity).length;
    byId("checked").textContent = shown.checked < shown.drawn ? "Checking …"
      : count("stop") + " to stop at, " + count("warn") + " warnings, " + count("note") + " notes.";
  }

  async function nest(number) {
    const told = number === 0 ? null : await (await get("nest?paper=" + paper(byId("nest")))).json();
    byId("overview").hidden = told === null;
    byId("headline").textContent = told === null ? "" : told.headline;
    byId("missing").replaceChildren(...(told === null ? [] : told.missing.map((text) => made("li", text, { class: "warn" }))));
    byId("tables").replaceChildren(...(told === null ? [] : told.tables.flatMap(table)));
    const cautions = told === null ? [] : told.cautions;
    byId("cautions").hidden = cautions.length === 0;
    byId("caution-list").replaceChildren(...cautions.map((text) => made("li", text)));
    if (told !== null) { draw(byId("overview"), told.picture); }
    document.documentElement.setAttribute("data-nested", told === null ? 0 : told.nested);
  }

  function trouble(now) {
    const list = now.trouble.map((one) => {
      const item = made("li");
      item.append(made("p", one.place, { class: "place" }), made("p", one.problem));
      if (one.cure) { item.append(made("p", one.cure)); }
      if (one.lines) {
        const box = made("pre", null, { tabindex: "0", "aria-label": "The lines there" });
        one.lines.texts.forEach((text, number) => {
          const isHere = number === one.lines.here;
          const line = String(one.lines.first + number).padStart(5) + (isHere ? " > " : "   ") + text + "\n";
          box.append(isHere ? made("span", line, { class: "here" }) : line);
          if (isHere && one.lines.column !== null) { box.append(" ".repeat(8 + one.lines.column) + "^\n"); }
        });
        item.append(box);
      }
      return item;
    });
    if (now.more_trouble > 0) { list.push(made("li", "and " + now.more_trouble + " more")); }
    byId("troubles").replaceChildren(...list);
    byId("stale").textContent = now.drawn > 0 ? "The pictures below are of the last good one." : "";
    byId("trouble").hidden = list.length === 0;
    document.body.classList.toggle("stale", list.length > 0);
  }

  async function apply(now) {
    const title = now.title || now.file;
    document.title = (now.trouble.length > 0 ? "! " : "") + title + " · dropwise";
    byId("title").textContent = title;
    trouble(now);
    document.querySelector("main").hidden = now.drawn === 0;
    const isDrawn = now.drawn !== shown.drawn;
    // What could not be fetched is fetched again the next time: the numbers are noted last.
    if (isDrawn) {
      shown.parts = now.parts;
      choices();
      await part();
      shown.drawn = now.drawn;
    }
    if (now.checked !== shown.checked || isDrawn) {
      if (now.checked !== shown.checked) { shown.findings = await (await get("findings")).json(); }
      shown.checked = now.checked;
      findings();
    }
    if (now.nested !== shown.nested) {
      await nest(now.nested);
      shown.nested = now.nested;
    }
    byId("search").textContent = now.search.words;
    byId("state").textContent = now.trouble.length > 0
      ? now.file + " has faults; what is shown is older." : now.file + " as it was last saved.";
  }

  async function follow() {
    for (;;) {
      try {
        const now = await (await get("now?since=" + revision)).json();
        // Said first: pictures are to be had no more.
        if (now.ended) { byId("state").textContent = "dropwise has ended; this page follows the file no longer."; return; }
        await apply(now);
        revision = now.revision;
      } catch (fault) {
        byId("state").textContent = "dropwise does not answer. Is it still running? Trying again …";
        revision = 0;
        await new Promise((done) => setTimeout(done, 1000));
      }
    }
  }

  async function choose_part(number) {
    chosen = (shown.parts[number] || { name: null }).name;
    byId("choose").value = String(number);
    view = Object.assign({}, start);
    try { await part(); findings(); } catch (fault) { return; }
  }
  byId("choose").addEventListener("change", (event) => choose_part(Number(event.target.value)));

  // One picture is asked for at a time, always the latest.
  let isTurning = false, isWanted = false;
  async function turned() {
    isWanted = true;
    if (isTurning) { return; }
    isTurning = true;
    try {
      while (isWanted) {
        isWanted = false;
        draw(byId("folded"), await (await get("folded?" + query(index(), byId("folded")))).text());
      }
    } catch (fault) { byId("state").textContent = "The part could not be turned."; }
    isTurning = false;
  }
  function turn(by, tilt) {
    view.turn = (((view.turn + by) % 360) + 360) % 360;
    view.tilt = Math.min(90, Math.max(-90, view.tilt + tilt));
    turned();
  }
  function back() { view = Object.assign({}, start); turned(); }
  const folded = byId("folded");
  folded.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? 3 : 15;
    const moves = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    if (event.key === "Home") { back(); } else if (moves[event.key]) { turn(...moves[event.key]); } else { return; }
    event.preventDefault();
  });
  let held = null;
  folded.addEventListener("pointerdown", (event) => {
    held = [event.clientX, event.clientY];
    folded.setPointerCapture(event.pointerId);
  });
  folded.addEventListener("pointermove", (event) => {
    if (held === null) { return; }
    const [x, y] = held;
    held = [event.clientX, event.clientY];
    turn((x - event.clientX) * 0.5, (event.clientY - y) * 0.5);
  });
  ["pointerup", "pointercancel"].forEach((name) => folded.addEventListener(name, () => { held = null; }));
  document.querySelectorAll(".turns button").forEach((button) => button.addEventListener("click", () => {
    if (button.dataset.back) { back(); } else { turn(Number(button.dataset.turn || 0), Number(button.dataset.tilt || 0)); }
  }));

  // Turned on its side, a phone has room for wider paper.
  let width = window.innerWidth, resting = 0;
  window.addEventListener("resize", () => {
    clearTimeout(resting);
    resting = setTimeout(async () => {
      if (Math.abs(window.innerWidth - width) < 0.15 * width) { return; }
      width = window.innerWidth;
      try { await part(); if (shown.nested > 0) { await nest(shown.nested); } } catch (fault) { return; }
    }, 200);
  });
  follow();
})();
