// Charts that answer the pointer, bores switched on and off, tables sorted, searched and copied.
// Everything waits until it comes into view; where something fails, the static page stays.
"use strict";
(() => {
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const boxes = all(".bores input[type=checkbox]");
  const views = [];
  const loading = {};

  function unpacked(element) {
    const bytes = Uint8Array.from(atob(element.textContent), letter => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).text();
  }
  // A library is kept compressed until it is needed; the page's policy knows its hash.
  async function load(name) {
    const script = document.createElement("script");
    script.textContent = await unpacked(document.getElementById(`library-${name}`));
    document.head.append(script);
  }
  const library = name => (loading[name] ??= load(name));

  const shown = () => boxes.filter(box => box.checked).map(box => Number(box.value));

  const config = {
    font: getComputedStyle(document.body).fontFamily, background: null,
    axis: { labelFontSize: 12, titleFontSize: 12, titleFontWeight: "normal", gridColor: "#e3e3e3",
            labelColor: "#1d1d1b", titleColor: "#1d1d1b" },
    legend: { labelFontSize: 12, titleFontSize: 12, titleFontWeight: "normal", labelLimit: 260,
              columns: innerWidth < 480 ? 2 : 4 },
    view: { stroke: null },
  };
  const options = {
    mode: "vega-lite", renderer: "svg", ast: true, actions: false, config,
    tooltip: { theme: "bore", offsetX: 14, offsetY: 14 },
  };

  const has = (view, signal) =>
    signal in view.getState({ signals: known => known === signal }).signals;

  // Stretches (share > 0) or moves (steps) the axes that can be: through the signals of "zoom".
  async function reshape(view, share, steps = { x: 0, y: 0 }) {
    for (const name of ["x", "y"]) {
      const signal = `zoom_${name}`;
      if (!has(view, signal)) continue;
      const scale = view.scale(name);
      const [from, to] = scale.range();
      const margin = (to - from) * share, step = (to - from) * steps[name];
      view.signal(signal, [scale.invert(from + margin + step), scale.invert(to - margin + step)]);
    }
    await view.runAsync();
  }
  async function whole(view) {
    for (const name of ["zoom_x", "zoom_y"]) {
      if (has(view, name)) view.signal(name, null);
    }
    await view.runAsync();
  }
  const keys = {
    "+": view => reshape(view, 0.2), "=": view => reshape(view, 0.2),
    "-": view => reshape(view, -1 / 3), "0": whole, Home: whole,
    ArrowLeft: view => reshape(view, 0, { x: -0.1, y: 0 }),
    ArrowRight: view => reshape(view, 0, { x: 0.1, y: 0 }),
    ArrowUp: view => reshape(view, 0, { x: 0, y: 0.1 }),
    ArrowDown: view => reshape(view, 0, { x: 0, y: -0.1 }),
  };
  const buttons = [["Zoom in", keys["+"]], ["Zoom out", keys["-"]], ["Whole range", whole]];

  // A place for a panel, as high as it will be, under its title.
  function makeBox(place, panel) {
    const box = document.createElement("div"), head = document.createElement("p");
    box.className = "panel";
    head.className = "panel-title";
    head.textContent = panel.title.text;  // a heading of the page breaks into lines, a chart's not
    box.style.minHeight = `${panel.height + 45}px`;
    place.append(head, box);
    return box;
  }
  async function drawPanel(box, panel, made) {
    const { view } = await vegaEmbed(box, { ...panel, title: null }, options);
    box.style.minHeight = "";
    box.tabIndex = 0;
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", `${panel.title.text}: arrow keys move, + and − zoom`);
    box.addEventListener("keydown", event => {
      if (!(event.key in keys) || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      keys[event.key](view);
    });
    made.push(view);
    views.push({ view, box });
    await show(view);
  }
  // The first panel takes the place of the figure; the others wait until they are in view.
  async function drawFigure(figure) {
    const place = document.createElement("div"), made = [];
    place.className = "chart";
    figure.prepend(place);
    try {
      const panels = JSON.parse(await unpacked(figure.querySelector("script.panels")));
      await library("vega");
      await drawPanel(makeBox(place, panels[0]), panels[0], made);
      figure.classList.add("drawn");
      for (const panel of panels.slice(1))
        watch([makeBox(place, panel)], box => drawPanel(box, panel, made).catch(console.error));
    } catch (error) {
      place.remove();
      console.error(error);
      return;
    }
    if (!["zoom_x", "zoom_y"].some(name => has(made[0], name))) return;
    const bar = document.createElement("p");
    bar.className = "zoom";
    for (const [words, act] of buttons) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = words;
      button.addEventListener("click", () => made.forEach(view => act(view)));
      bar.append(button);
    }
    place.append(bar);
  }

  // Switches bores on and off in a chart: where it has any.
  async function show(view) {
    if (!boxes.length) return;
    if (has(view, "shown")) await view.signal("shown", shown()).runAsync();
  }
  const isInView = ({ box }) => {
    const { top, bottom, height } = box.getBoundingClientRect();
    return height > 0 && bottom > 0 && top < innerHeight;
  };
  const pause = () => new Promise(resolve => setTimeout(resolve));
  // What is in view first, then the rest one by one, unless something was switched again.
  let round = 0;
  async function showAll() {
    const mine = ++round;
    for (const box of boxes)
      for (const part of all(`figure [id$="-bore-${box.value}"]`))
        part.style.display = box.checked ? "" : "none";
    const seen = views.filter(isInView);
    await Promise.all(seen.map(({ view }) => show(view)));
    for (const { view } of views.filter(one => !seen.includes(one))) {
      await pause();
      if (mine !== round) return;
      await show(view);
    }
  }

  // The number that a cell begins with, ± and all; what has none comes last.
  const NONE = 1e300;
  const raised = digits => [...digits].map(digit => "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".indexOf(digit))
    .map(place => place === 0 ? "-" : place - 1).join("");
  function number(text) {
    const plain = text.replace(/−/g, "-").replace(/[\u00a0\u202f]/g, " ").trim();
    const found = /^\(?([-+]?\d+(?:\.\d+)?)/.exec(plain);
    if (!found) return NONE;
    const power = /× 10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)/.exec(plain);
    return Number(found[1]) * (power ? 10 ** Number(raised(power[1])) : 1);
  }
  const collator = new Intl.Collator("en", { numeric: true });
  function setOrder(table) {
    const rows = [...table.tBodies[0].rows];
    const heads = [...table.tHead.rows].at(-1).cells;
    for (const [column, head] of [...heads].entries()) {
      const cells = rows.map(row => row.cells[column]);
      const texts = cells.map(cell => cell.textContent.trim());
      const ranks = [...new Set(texts)].sort(collator.compare);
      const order = head.classList.contains("number") ? number : text => ranks.indexOf(text);
      cells.forEach((cell, row) => { cell.dataset.order = order(texts[row]); });
    }
  }
  async function makeTable(table) {
    await library("tables");
    setOrder(table);
    const many = table.tBodies[0].rows.length > 7;
    new DataTable(table, {
      paging: false, info: false, order: [], autoWidth: false,
      layout: {
        topStart: { buttons: [{
          extend: "copyHtml5", text: "Copy table", title: null,
          exportOptions: { format: { body: (data, row, column, cell) => cell.textContent } },
        }] },
        topEnd: many ? "search" : null, bottomStart: null, bottomEnd: null,
      },
      language: {
        search: "Search:",
        buttons: { copyTitle: "Copied", copySuccess: { _: "%d rows copied", 1: "1 row copied" } },
      },
    });
  }

  const printing = matchMedia("print");
  const watch = (elements, act) => {
    const observer = new IntersectionObserver(entries => {
      for (const entry of entries) {
        if (!entry.isIntersecting || printing.matches) continue;
        observer.unobserve(entry.target);
        act(entry.target);
      }
    }, { rootMargin: "200px" });
    elements.forEach(element => observer.observe(element));
  };
  // What newer browsers do by themselves: a link opens the layer it leads into, and print all.
  function openTarget() {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    let layer = target?.closest("details:not([open])");
    if (!layer) return;
    for (; layer; layer = layer.parentElement.closest("details")) layer.open = true;
    target.scrollIntoView();
  }
  addEventListener("hashchange", openTarget);
  openTarget();
  if (!CSS.supports("selector(::details-content)")) {
    let closed = [];
    addEventListener("beforeprint", () => {
      closed = all("details.layer:not([open])");
      closed.forEach(layer => { layer.open = true; });
    });
    addEventListener("afterprint", () => closed.forEach(layer => { layer.open = false; }));
  }
  if (!("DecompressionStream" in window && "IntersectionObserver" in window)) return;
  for (const hint of all(".hint")) hint.hidden = false;
  for (const bar of all(".bores")) {
    bar.hidden = false;
    bar.addEventListener("change", showAll);
    for (const button of all("button", bar))
      button.addEventListener("click", () => {
        boxes.forEach(box => { box.checked = button.value === "all" || box === boxes[0]; });
        showAll();
      });
  }
  watch(all("figure").filter(figure => figure.querySelector("script.panels")), drawFigure);
  watch(all(".table > table").filter(table => table.tBodies[0].rows.length > 1), makeTable);
  // a layer that was closed while the window changed its size
  for (const layer of all("details"))
    layer.addEventListener("toggle", () => layer.open && dispatchEvent(new Event("resize")));
})();
