// Draws every figure.chart from the description inside it. Grey is the usual, colour and shape the exception; limits are
// labelled at their line; a point leads to the page behind it. Drawn again when the light or the width changes, and on
// paper in ink on white.

const library = await import(document.querySelector("link[data-charting]").href);

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function inks(onPaper) {
  if (onPaper) {
    return { paper: "#FFFFFF", ink: "#000000", quiet: "#444444", rule: "#BBBBBB", accent: "#005A8C", nonconforming: "#AE4A00", undecided: "#8A5F00", doubt: "#9A4A76" };
  }
  return Object.fromEntries(["paper", "ink", "quiet", "rule", "accent", "nonconforming", "undecided", "doubt"].map((n) => [n, css("--" + n)]));
}

// withMinus writes a number with a true minus.
const withMinus = (text) => text.replace(/^-/, "−");

const shapes = { nonconforming: "triangle", undecided: "diamond", doubt: "rect", signal: "circle" };

function pointStyle(point, ink, size, usual) {
  if (!point.s) return { symbol: "circle", symbolSize: size, itemStyle: { color: usual } };
  if (point.s === "signal") {
    return { symbol: "circle", symbolSize: size + 7, itemStyle: { color: ink.paper, borderColor: ink.nonconforming, borderWidth: 3 } };
  }
  return { symbol: shapes[point.s], symbolSize: size + 5, itemStyle: { color: ink[point.s] } };
}

const markStyles = {
  limit: (ink) => ({ color: ink.nonconforming, type: "dashed", width: 1.5 }),
  control: (ink) => ({ color: ink.ink, type: "dotted", width: 1.5 }),
  centre: (ink) => ({ color: ink.ink, type: "solid", width: 1 }),
  target: (ink) => ({ color: ink.quiet, type: "solid", width: 1 }),
};

function axis(description, ink, narrow, vertical, right = false) {
  const text = { color: ink.quiet, fontSize: narrow ? 12 : 13 };
  const a = {
    name: description.title, nameLocation: vertical ? "end" : "middle", nameGap: vertical ? 14 : 28, nameTextStyle: { ...text, align: vertical ? (right ? "right" : "left") : "center" },
    axisLabel: { ...text, hideOverlap: true }, axisLine: { show: !vertical, lineStyle: { color: ink.rule } }, axisTick: { show: false },
    splitLine: { show: vertical, lineStyle: { color: ink.rule } },
  };
  if (description.names) return { ...a, type: "category", data: description.names, axisLabel: { ...a.axisLabel, interval: narrow && description.names.length > 8 ? Math.ceil(description.names.length / 4) - 1 : description.names.length > 24 ? "auto" : 0, rotate: narrow && description.names.length > 3 && description.names.length <= 8 ? 40 : 0, width: narrow ? 90 : undefined, overflow: "truncate" } };
  if (description.time) return { ...a, type: "time" };
  if (!vertical && !description.whole) Object.assign(a.axisLabel, { showMinLabel: false, showMaxLabel: false });
  a.axisLabel.formatter = (v) => withMinus(Number(v).toFixed(description.decimals));
  return { ...a, type: "value", scale: description.min === undefined, min: description.min ?? (vertical ? undefined : "dataMin"), max: description.max ?? (vertical ? undefined : "dataMax"), interval: description.step, minInterval: description.whole ? 1 : undefined };
}

function bounds(description) { // the y axis takes in every limit that is drawn, from tick to tick
  const { y, marks = [] } = description;
  if (y.min !== undefined && y.max !== undefined) return y;
  const all = marks.filter((m) => !m.along).map((m) => m.at);
  for (const end of [y.min, y.max]) if (end !== undefined) all.push(end);
  for (const s of description.series) {
    if (s.right || s.pane) continue;
    for (const p of s.points) if (p.y !== null) all.push(p.y);
    if (s.kind === "bars") all.push(0);
  }
  if (all.length === 0) return y;
  let low = all[0], high = all[0];
  for (const v of all) { if (v < low) low = v; if (v > high) high = v; }
  const rough = (high - low || Math.abs(high) || 1) / 4;
  const power = 10 ** Math.floor(Math.log10(rough));
  let step = power * [1, 2, 2.5, 5, 10].find((m) => m * power >= rough);
  if (y.whole) step = Math.max(1, Math.ceil(step));
  const min = y.min ?? Math.floor(low / step) * step;
  const decimals = y.whole ? 0 : Math.max(0, step === 2.5 * power ? 1 - Math.log10(power) : -Math.floor(Math.log10(step) + 1e-9));
  return { ...y, min, max: y.max ?? Math.max(min + step, Math.ceil(high / step) * step), step, decimals: Math.round(decimals) };
}

// apart moves labels that would lie on one another: offsets by mark, from places along the axis and the room each needs.
function apart(places, room) {
  const order = places.map((at, i) => ({ at, i })).sort((a, b) => a.at - b.at);
  const offsets = places.map(() => 0);
  for (let k = 1; k < order.length; k++) {
    const before = order[k - 1], now = order[k];
    const gap = now.at + offsets[now.i] - (before.at + offsets[before.i]);
    if (gap < room) offsets[now.i] += room - gap;
  }
  return offsets;
}

// stacked rewrites an option with one grid into one with a pane for the first value axis and one for each of the description's panes, all on
// the same stretch of the x axis. Marks and bands go through all of them, their labels stand in the first.
function stacked(o, description, ink, narrow, width, height) {
  const axes = [o.yAxis[0], ...description.panes.map((pane, k) => axis(bounds({ y: pane, series: description.series.filter((s) => s.pane === k + 1).map((s) => ({ ...s, pane: 0 })) }), ink, narrow, true))];
  const named = (description.marks ?? []).length > 0 ? 16 + 15 * (description.markRows ?? 0) : 0; // the first axis's title stands above the marks' labels
  const { right } = o.grid, top = o.grid.top + named, gap = 34, left = 46, bottom = 36;
  const unit = (height - top - bottom - gap * description.panes.length) / (axes.length + 1); // the first is twice as high as the others
  axes[0].nameGap += named && top - 40;
  const xs = [...description.series.flatMap((s) => s.points.map((p) => p.x)), ...(description.bands ?? []).flatMap((b) => [b.from, b.to])];
  const low = Math.min(...xs), high = Math.max(...xs), room = 0.02 * (high - low);
  o.grid = axes.map((_, k) => ({ left, right, top: k === 0 ? top : top + unit * (k + 1) + gap * k, height: k === 0 ? 2 * unit : unit }));
  o.xAxis = axes.map((_, k) => ({ ...o.xAxis, gridIndex: k, min: low - room, max: high + room, ...(k + 1 < axes.length ? { name: "", axisLabel: { show: false } } : {}) }));
  o.yAxis = axes.map((a, k) => ({ ...a, gridIndex: k }));
  const fits = (b) => (b.to - b.from) / (high - low) * (width - left - right) > 6.5 * b.words.length;
  const shade = (labels) => ({
    silent: true, label: { show: labels, position: "insideBottom", color: ink.quiet, fontSize: 12 },
    data: (description.bands ?? []).map((b, i) => [{ name: fits(b) ? b.words : "", xAxis: b.from, itemStyle: { color: ink.ink, opacity: i % 2 ? 0.07 : 0 } }, { xAxis: b.to }]),
  });
  const seen = new Set(), marks = o.series[0].markLine;
  o.series.forEach((s, i) => {
    const pane = description.series[i].pane ?? 0;
    s.xAxisIndex = s.yAxisIndex = pane;
    if (seen.has(pane)) return;
    seen.add(pane);
    s.markLine = pane === 0 ? marks : { ...marks, data: marks.data.filter((m) => m.xAxis !== undefined).map((m) => ({ ...m, label: { show: false } })) };
    s.markArea = shade(pane === 0);
  });
  return o;
}

function option(description, ink, narrow, width, height) {
  const o = panel(description, ink, narrow, width, height);
  return description.panes ? stacked(o, description, ink, narrow, width, height) : o;
}

function panel(description, ink, narrow, width, height) {
  const many = Math.max(...description.series.map((s) => s.points.length));
  const size = many > 400 ? 3 : many > 120 ? 5 : 7;
  const lines = description.marks ?? [];
  const yAxis = bounds(description);
  const across = lines.filter((m) => !m.along), along = lines.filter((m) => m.along);
  const down = apart(across.map((m) => (yAxis.max - m.at) / (yAxis.max - yAxis.min) * (height - 84)), 16);
  const xs = description.series[0].points.map((p) => p.x);
  const xMin = Math.min(...xs, ...along.map((m) => m.at)), xMax = Math.max(...xs, ...along.map((m) => m.at));
  const room = Math.min(88, 7 * Math.max(0, ...description.series.map((s) => (s.label ?? "").length))); // of the lines' labels on a phone
  const px = along.map((m) => (m.at - xMin) / (xMax - xMin || 1) * (width - 60 - (narrow ? room : 0)));
  const rows = [];
  px.forEach((x, i) => { // the lowest row in which no label is met
    const met = (row) => rows.some((r, j) => r === row && Math.abs(px[j] - x) < 3.8 * (along[i].words.length + along[j].words.length));
    let row = 0;
    while (met(row)) row++;
    rows.push(row);
  });
  description.markRows = Math.max(0, ...rows);
  const offset = (m) => (m.along ? [0, -15 * rows[along.indexOf(m)]] : [0, down[across.indexOf(m)]]);
  const markLine = {
    silent: true, symbol: "none", animation: false,
    data: lines.map((m) => ({
      [m.along ? "xAxis" : "yAxis"]: m.at, lineStyle: markStyles[m.kind](ink),
      label: { formatter: m.words, position: m.along ? "end" : narrow ? "insideEndTop" : "end", color: m.kind === "limit" ? ink.nonconforming : ink.ink, fontSize: narrow ? 12 : 13, textBorderColor: ink.paper, textBorderWidth: 3, distance: narrow ? 2 : 6, offset: offset(m) },
    })),
  };
  const series = description.series.map((s, i) => {
    const color = s.hue ? [ink.ink, ink.accent, ink.doubt, ink.undecided, ink.nonconforming, ink.quiet][(s.hue - 1) % 6] : s.quiet || s.right || i === 0 ? ink.ink : ink.accent;
    const data = s.points.map((p) => ({ value: [p.x, p.y], words: p.w, link: p.l, ...(s.kind === "points" || s.kind === "both" ? pointStyle(p, ink, size, s.hue ? color : ink.quiet) : {}), ...(s.kind === "bars" && p.s ? { itemStyle: { color: ink[p.s] ?? ink.accent } } : {}) }));
    const common = { name: s.name, data, yAxisIndex: s.right ? 1 : 0, animation: false, emphasis: { disabled: true }, cursor: s.points.some((p) => p.l) ? "pointer" : "default", markLine: i === 0 ? markLine : undefined };
    if (s.kind === "bars") return { ...common, type: "bar", barCategoryGap: description.x.names ? "35%" : "4%", itemStyle: { color: ink.quiet } };
    if (s.kind === "points") return { ...common, type: "scatter", z: 4 };
    return {
      ...common, type: "line", step: s.kind === "step" ? "middle" : false, symbol: s.kind === "both" ? "circle" : "none", symbolSize: size, showAllSymbol: true,
      lineStyle: { color, width: s.quiet ? 1 : 1.5, type: s.quiet ? "dotted" : s.dashed ? "dashed" : "solid", opacity: s.kind === "both" ? 0.55 : 1 },
      endLabel: s.label ? { show: true, formatter: s.label, color, fontSize: narrow ? 12 : 13, lineHeight: 18, distance: 6, textBorderColor: ink.paper, textBorderWidth: 3, ...(narrow ? { width: room, overflow: "break", lineHeight: 14 } : {}) } : undefined, labelLayout: { moveOverlap: "shiftY" }, connectNulls: false, z: s.quiet ? 1 : s.kind === "both" ? 4 : 3,
    };
  });
  const words = [...lines.filter((m) => !m.along).map((m) => m.words), ...description.series.map((s) => s.label ?? "")];
  const right = narrow ? 12 + room : Math.min(240, 16 + 7.2 * Math.max(0, ...words.map((w) => w.length)));
  return {
    aria: { enabled: false }, textStyle: { fontFamily: "system-ui, sans-serif", color: ink.ink }, animation: false, backgroundColor: "transparent",
    grid: { left: 8, right: description.right ? 8 : right, top: 40 + 15 * Math.max(0, ...rows), bottom: description.x.title ? 36 : 8, containLabel: true },
    xAxis: axis(description.x, ink, narrow, false),
    yAxis: [axis(yAxis, ink, narrow, true), ...(description.right ? [{ ...axis(description.right, ink, narrow, true, true), splitLine: { show: false }, position: "right" }] : [])],
    tooltip: {
      trigger: "item", confine: true, backgroundColor: ink.paper, borderColor: ink.ink, textStyle: { color: ink.ink, fontSize: 14 },
      formatter: (p) => library.format.encodeHTML(p.data?.words || `${p.seriesName}: ${withMinus(Number(p.value[1]).toFixed(description.y.decimals))}`),
    },
    series,
  };
}

const charts = [];

for (const figure of document.querySelectorAll("figure.chart")) {
  const script = figure.querySelector('script[type="application/json"]');
  if (!script) continue;
  const description = JSON.parse(script.textContent);
  const frame = figure.querySelector(".chart-drawing");
  const drawing = library.init(frame, null, { renderer: "svg" });
  const draw = (onPaper) => drawing.setOption(option(description, inks(onPaper), frame.clientWidth < 560, frame.clientWidth, frame.clientHeight), true);
  drawing.on("click", (event) => { if (event.data?.link) location.href = event.data.link; });
  new ResizeObserver(() => { drawing.resize(); draw(false); }).observe(frame);
  draw(false);
  figure.dataset.drawn = "yes";
  charts.push({ drawing, draw, frame });
}

const redraw = (onPaper) => { for (const c of charts) { c.drawing.resize(); c.draw(onPaper); } };
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => redraw(false));
matchMedia("print").addEventListener("change", (event) => redraw(event.matches));
addEventListener("beforeprint", () => redraw(true));
addEventListener("afterprint", () => redraw(false));
