// Keeps the bench page as the bench is: swaps the parts that the live stream sends, sends commands without leaving the
// page, and gives every command its key. Without it the page still shows the state and its forms still work.

const entry = document.getElementById("entry-text");
let wrong = ""; // what the bench refused and the entry line still holds
const connection = document.getElementById("connection");

// --- parts ---------------------------------------------------------------------------------------------------------

const readFor = 4000; // ms
let readUntil = 0;
let emptied = false; // the bench has nothing to say any more

function swap(parts) {
  for (const [id, html] of Object.entries(parts)) {
    const part = document.getElementById(id);
    if (!part) continue;
    if (id === "notice") {
      emptied = html.trim() === "";
      if (emptied && performance.now() < readUntil) { // a refusal of what was just pressed stays long enough to be read
        if (readUntil < Infinity) setTimeout(forget, readUntil - performance.now() + 50);
        continue;
      }
    }
    const before = id === "board" ? taken(part) : null;
    const open = [...part.querySelectorAll("form[id]:not([hidden])")].map((f) => f.id);
    const unfolded = [...part.querySelectorAll("details[open] > summary")].map(named);
    const typed = typedIn(part);
    const held = part.contains(document.activeElement) ? describe(document.activeElement) : null;
    part.innerHTML = html;
    for (const id of open) document.getElementById(id)?.removeAttribute("hidden");
    for (const s of part.querySelectorAll("details > summary")) if (unfolded.includes(named(s))) s.parentElement.open = true;
    for (const [where, value] of typed) {
      const control = part.querySelector(where);
      if (control) control.value = value;
    }
    if (before) for (const p of part.querySelectorAll(".point.taken")) if (!before.has(p.dataset.key)) p.classList.add("just");
    if (held) part.querySelector(held)?.focus();
  }
  fitForm();
  fitBoard();
  more.open(more.is);
  tick();
}

// named tells one thing that opens from another when its part was swapped.
function named(summary) { return summary.parentElement.id || summary.textContent; }

// forget takes away what was said where the bench has nothing to say any more.
function forget() {
  if (emptied && performance.now() >= readUntil) document.getElementById("notice").replaceChildren();
}

// typedIn lists what was typed or chosen in a part's forms and not sent yet, with where it belongs: the same form about the
// same inspection.
function typedIn(part) {
  const typed = [];
  for (const control of part.querySelectorAll("form input:not([type=hidden]), form select, form textarea")) {
    const own = control.matches("select") ? Math.max(0, [...control.options].findIndex((o) => o.defaultSelected)) !== control.selectedIndex : control.value !== control.defaultValue;
    const { form } = control;
    const of = form.dataset.of !== undefined ? `[data-of="${form.dataset.of}"]` : "";
    if (own && control.name) typed.push([`form[action="${form.getAttribute("action")}"]${of} [name="${control.name}"]`, control.value]);
  }
  return typed;
}

// taken are the keys of the points drawn as taken; null on the first drawing, which pulses nothing.
function taken(part) {
  const points = part.querySelectorAll(".point");
  return points.length ? new Set([...part.querySelectorAll(".point.taken")].map((p) => p.dataset.key)) : null;
}

// describe finds the focused control again after its part was swapped.
function describe(el) {
  if (el.id) return "#" + el.id;
  if (el.dataset.code) return `[data-code="${el.dataset.code}"]`;
  const form = el.form?.id ? `#${el.form.id} ` : "";
  if (el.name) return `${form}[name="${el.name}"]`;
  if (form && el.matches("button.main")) return form + "button.main";
  return null;
}

// --- live stream ---------------------------------------------------------------------------------------------------

let scene = null;
let stream = null;

// listen opens the stream, anew after somebody signed on here: it is that of who was signed on when it was opened.
function listen() {
  stream?.close();
  stream = new EventSource("/events?window=" + document.body.dataset.window);
  stream.addEventListener("open", () => document.dispatchEvent(new CustomEvent("bench-again")));
  stream.addEventListener("bench", changed);
  stream.addEventListener("beat", beat);
}

function changed(e) {
  const update = JSON.parse(e.data);
  heard(update.now);
  swap(update.parts);
  if (scene !== null && update.scene !== scene && wrong !== "" && entry.value === wrong) entry.value = wrong = ""; // it was about what is over
  scene = update.scene;
  document.dispatchEvent(new CustomEvent("bench-sounds", { detail: update.sounds }));
  document.dispatchEvent(new CustomEvent("bench-answers", { detail: update }));
}

function beat(e) {
  heard(Number(e.data));
  document.dispatchEvent(new CustomEvent("bench-beat"));
}

// The station speaks every second. A page that hears nothing for three says so, shows nothing as present, and sends nothing.
const deaf = 3000; // ms
let lastHeard = performance.now();
let ahead = null; // how far the station's clock is ahead of this page's, ms; the least delay on the way gives the most
let learned = 0;

function heard(now) {
  const here = performance.now();
  lastHeard = here;
  // A clock that was set is learned anew: what was learned long ago does not hold for ever.
  if (ahead === null || now - here > ahead || here - learned > 30000 || Math.abs(now - here - ahead) > 5000) { ahead = now - here; learned = here; }
  unheard(false);
}

function unheard(is) {
  if (is && connection.hidden) document.dispatchEvent(new CustomEvent("bench-lost"));
  connection.hidden = !is;
  document.body.classList.toggle("unheard", is);
}
setInterval(() => { if (performance.now() - lastHeard > deaf) unheard(true); }, 200);

// --- commands ------------------------------------------------------------------------------------------------------

// Every command says what this page shows and when its key was pressed; the station carries none out that was meant for something else
// or comes late.
async function send(action, body, pressed = performance.now()) {
  if (performance.now() - lastHeard > deaf) {
    unheard(true);
    notice("The station is not heard. Nothing was sent.");
    return false;
  }
  for (const field of document.querySelectorAll("#seen input")) if (!body.has(field.name)) body.set(field.name, field.value);
  if (ahead !== null) body.set("at", String(Math.round(pressed + ahead)));
  document.dispatchEvent(new CustomEvent("bench-sends", { detail: body }));
  try {
    const answer = await fetch(action, { method: "POST", body, headers: { "X-From": "module" } });
    if (answer.headers.has("X-Signed-On")) listen();
    if (!answer.ok) notice(await answer.text());
    return answer.ok;
  } catch {
    document.dispatchEvent(new CustomEvent("bench-unanswered", { detail: body }));
    return false;
  }
}

document.addEventListener("bench-notice", ({ detail: text }) => notice(text));

// What became of a command whose answer was lost: what it says waits for stands until it is known.
document.addEventListener("bench-settled", ({ detail: { text, waits, done } }) => {
  notice(text, waits ? Infinity : readFor);
  if (done && wrong !== "" && entry.value === wrong) entry.value = wrong = "";
});

function notice(text, lasts = readFor) {
  const p = document.createElement("p");
  p.className = "refused";
  p.textContent = text;
  document.getElementById("notice").replaceChildren(p);
  readUntil = performance.now() + lasts;
  if (lasts < Infinity) setTimeout(forget, lasts + 50);
}

document.addEventListener("submit", async (e) => {
  const form = e.target;
  const action = form.getAttribute("action") || "";
  if (!action.startsWith("/bench/")) return;
  e.preventDefault();
  if (action === "/bench/show-rework") return show("rework-form");
  if (action === "/bench/show-decide") return show("decide-form");
  if (action === "/bench/show-hand") return show("hand-form");
  const body = new URLSearchParams(new FormData(form));
  if (form.id === "entry") {
    const text = entry.value;
    entry.value = wrong = "";
    const scanned = entry.dataset.scanned === text; // nobody mends what was scanned: the next key is not kept waiting by it
    delete entry.dataset.scanned;
    if (text.trim() && !(await send(action, body, e.timeStamp)) && !entry.value && !scanned) {
      entry.value = wrong = text; // what was typed is kept until something else is asked
      entry.select();
    }
    return;
  }
  if (form.id === "hand-form") form.elements.pin.value = ""; // it is sent once
  const inline = form.classList.contains("inline-form");
  const picking = form.closest("#stage") !== null && action !== "/bench/handed";
  if (!inline && !picking) entry.focus({ preventScroll: true });
  if (!(await send(action, body, e.timeStamp))) return;
  if (inline) {
    form.reset();
    document.getElementById(form.id)?.reset(); // the live stream may have brought it anew
    hide(form.id);
  }
  if (picking && !document.querySelector("#stage form")) entry.focus({ preventScroll: true });
});

function show(id) {
  const form = document.getElementById(id);
  if (!form) return;
  more.open(false);
  form.hidden = false;
  fitForm();
  // Enter records rework as advised; a decision must be chosen, and so must work that nothing advises.
  const choice = form.querySelector("select, [name=pin]");
  (choice.value ? form.querySelector("button.main") : choice).focus({ preventScroll: true });
}

function hide(id) {
  const form = document.getElementById(id);
  if (form) form.hidden = true;
  entry.focus({ preventScroll: true });
}

document.addEventListener("click", (e) => {
  if (e.target.id === "enlarge") return enlarge();
  if (e.target.closest?.("[data-more]")) return more.open(!more.is);
  if (e.target.closest?.("#board")) {
    const point = nearest(e.clientX, e.clientY);
    if (point) send("/bench/choose", new URLSearchParams({ key: point.dataset.key }));
  }
  const to = e.target.closest?.("[data-hide], [data-show]");
  if (to?.dataset.hide) hide(to.dataset.hide);
  if (to?.dataset.show) show(to.dataset.show);
});

// The PIN is tapped or typed; with its last digit, and a name, it is sent. A badge that is scanned meanwhile goes to the entry line.
const digits = 6;

function pinDigit(pin, digit) {
  pin.value = digit === "back" ? pin.value.slice(0, -1) : (pin.value + digit).slice(0, digits);
  pinned(pin);
}

function pinned(pin) {
  const name = pin.form.querySelector("[name=name]:checked");
  if (pin.value.length === digits && name) pin.form.requestSubmit();
}

document.addEventListener("click", (e) => {
  const key = e.target.closest?.("[data-digit]");
  if (key) pinDigit(key.closest("form").elements.pin, key.dataset.digit);
});
document.addEventListener("input", (e) => { if (e.target.id === "pin") pinned(e.target); });
document.addEventListener("change", (e) => {
  if (e.target.matches("#hand-form [name=name]")) { pinned(e.target.form.elements.pin); e.target.form.elements.pin.focus({ preventScroll: true }); }
});
document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.altKey || e.metaKey || !e.target.closest?.("#hand-form")) return;
  if (e.key.length === 1 && e.key !== " " && !/\d/.test(e.key)) entry.focus({ preventScroll: true }); // a badge begins
  else if (/^\d$/.test(e.key) && e.target.id !== "pin") e.target.form.elements.pin.focus({ preventScroll: true });
}, true);

// On a phone the board is drawn close up around the point asked for; a button shows the whole neck.
const small = matchMedia("(max-width: 599px)");
const drawings = document.getElementById("drawings");

function fitBoard() {
  const drawing = document.querySelector("#board .drawing");
  const svg = drawing?.querySelector("svg");
  if (!svg) return;
  svg.dataset.whole ??= svg.getAttribute("viewBox");
  const [x, y, width] = (drawing.dataset.near ?? "").split(" ");
  const near = small.matches && width && !drawings.classList.contains("whole");
  svg.setAttribute("viewBox", near ? [x, y, width, svg.dataset.whole.split(" ")[3]].join(" ") : svg.dataset.whole);
}
small.addEventListener("change", fitBoard);

function enlarge() {
  const whole = drawings.classList.toggle("whole");
  const button = document.getElementById("enlarge");
  button.setAttribute("aria-pressed", String(whole));
  button.textContent = whole ? "Close up" : "The whole neck";
  fitBoard();
}

// --- points --------------------------------------------------------------------------------------------------------

// A tap chooses the nearest point within a finger's width. By keyboard the arrows go from point to point, Enter chooses.
const finger = 24; // px

function centre(point) {
  const r = point.querySelector(".ring").getBoundingClientRect();
  return [r.left + r.width / 2, r.top + r.height / 2];
}

function nearest(x, y) {
  let best = null, least = finger;
  for (const p of document.querySelectorAll("#board .point[data-key]")) {
    const [px, py] = centre(p);
    const d = Math.hypot(px - x, py - y);
    if (d <= least) [best, least] = [p, d];
  }
  return best;
}

let cursor = null; // the key of the point that the arrows stand on

function markCursor() {
  for (const p of document.querySelectorAll("#board .point.cursor")) p.classList.remove("cursor");
  const point = cursor && document.querySelector(`#board .point[data-key="${cursor}"]`);
  if (!point) { cursor = null; return null; }
  point.classList.add("cursor");
  return point;
}

// step moves the cursor to the nearest point on that side: those straight ahead come before those off to a side.
function step(dx, dy) {
  const points = [...document.querySelectorAll("#board .point[data-key]")];
  if (!points.length) return false;
  const from = markCursor() ?? points.find((p) => p.querySelector(".next")) ?? points[0];
  const [x, y] = centre(from);
  let best = null, least = Infinity;
  for (const p of points) {
    const [px, py] = centre(p);
    const ahead = (px - x) * dx + (py - y) * dy;
    const aside = Math.abs((px - x) * dy) + Math.abs((py - y) * dx);
    if (p === from || ahead < 0.5 || ahead + 4 * aside >= least) continue;
    [best, least] = [p, ahead + 4 * aside];
  }
  if (!best) return true;
  cursor = best.dataset.key;
  markCursor();
  document.getElementById("said").textContent = best.querySelector("title").textContent + ". Enter measures it.";
  return true;
}

const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

// --- what stands behind --------------------------------------------------------------------------------------------

const more = {
  is: false,
  open(is) {
    const changed = is !== this.is;
    this.is = is;
    document.getElementById("more").hidden = !is;
    const button = document.querySelector("[data-more]");
    button.setAttribute("aria-expanded", String(is));
    button.firstChild.textContent = is ? "Close " : "More ";
    if (changed && is) document.getElementById("more").focus({ preventScroll: true });
    if (changed && !is) entry.focus({ preventScroll: true });
  },
};

// The rework form shows the fields that its kind of work needs.
function fitForm() {
  const what = document.querySelector("#rework-form [name=what]");
  if (!what) return;
  for (const label of document.querySelectorAll("#rework-form [data-for]")) {
    label.hidden = !what.value || !label.dataset.for.includes(what.value);
  }
}
document.addEventListener("change", (e) => { if (e.target.name === "what") fitForm(); });

// --- keys ----------------------------------------------------------------------------------------------------------

// A question mark alone leads to the page that explains what is asked for; with more behind it, as a scanner types it, it is part of a text.
let helping = 0;

function explain() {
  if (entry.value !== "?") return;
  entry.value = "";
  location.href = document.querySelector(".help-here").href;
}

document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.altKey || e.metaKey || e.repeat) return;
  const field = e.target.closest?.("input, select, textarea, button, a, summary");
  // A scanner's text belongs to the entry line, also where a button has the focus: its Enter must not press that button.
  if (field?.matches("button, a, summary") && e.key.length === 1 && e.key !== " ") {
    entry.focus({ preventScroll: true });
    return;
  }
  const elsewhere = field && field !== entry;
  clearTimeout(helping);
  if (e.key === "?" && !elsewhere && entry.value === "") helping = setTimeout(explain, 400);
  if (e.code === "Escape") {
    const form = [...document.querySelectorAll(".inline-form:not([hidden])")].pop();
    if (form) hide(form.id);
    else if (more.is) more.open(false);
    else document.querySelector('#keys [data-action="discard"]')?.form.requestSubmit(); // a question is left
    entry.value = "";
    entry.focus({ preventScroll: true });
    return;
  }
  const code = e.code;
  if (code === "PageDown") {
    e.preventDefault();
    return more.open(!more.is);
  }
  if (!elsewhere && entry.value === "" && !more.is) {
    if (arrows[code] && step(...arrows[code])) return e.preventDefault();
    if (code === "Enter" && cursor) {
      e.preventDefault();
      const key = cursor;
      send("/bench/choose", new URLSearchParams({ key }), e.timeStamp).then((sent) => { // else it stays where it is
        if (sent && cursor === key) cursor = null;
        markCursor();
      });
      return;
    }
  }
  if (code === "F8") return footDown(e);
  if (code === "Space" && more.is) return; // it covers what the key would take: Escape or Page Down closes it
  if (code === "Space" && (elsewhere || (entry.value.trim() !== "" && entry.value !== wrong))) return;
  const button = [...document.querySelectorAll(`[data-code="${code}"]`)].find((b) => !b.disabled);
  if (button) {
    e.preventDefault();
    if (entry.value === wrong) entry.value = wrong = "";
    button.form.requestSubmit(button);
    return;
  }
  // What is typed or scanned goes to the entry line, unless another field has the focus.
  if (!elsewhere && e.key.length === 1 && document.activeElement !== entry) entry.focus({ preventScroll: true });
});

// A foot switch that types F8: pressed shortly it is the first key, held down it takes back.
let foot = null;

function footDown(e) {
  e.preventDefault();
  if (foot !== null) return;
  foot = setTimeout(() => { foot = 0; send("/bench/foot", new URLSearchParams({ long: "yes" })); }, 800);
}

document.addEventListener("keyup", (e) => {
  if (e.code !== "F8" || foot === null) return;
  if (foot !== 0) { clearTimeout(foot); send("/bench/foot", new URLSearchParams()); }
  foot = null;
});
addEventListener("blur", () => { clearTimeout(foot); foot = null; }); // its end may be missed

// --- clock ---------------------------------------------------------------------------------------------------------

function tick() {
  const clock = document.querySelector(".clock");
  if (!clock || document.body.classList.contains("unheard")) return;
  const until = clock.dataset.until ? Number(clock.dataset.until) : Date.now() / 1000; // the verdict ends it
  const s = Math.max(0, Math.round(until - Number(clock.dataset.since)));
  const written = (n) => `${Math.floor(n / 60)}:${String(n % 60).padStart(2, "0")}`;
  const takt = Number(clock.dataset.takt); // that the specification allows, 0 for none
  clock.textContent = written(s) + (takt ? ` of ${written(takt)}` : "");
  clock.classList.toggle("over", takt > 0 && s > takt);
}
setInterval(tick, 1000);

listen();
fitForm();
fitBoard();
tick();
entry.focus({ preventScroll: true });
