// The form of a specification: what changes is sent as it is typed and the form comes back with what that means (the routine's length,
// the drawing, what is wrong), rows are added and taken out in place, and what is typed is kept in this tab until it is saved. Without
// this module every button sends the form and it comes back whole.

const form = document.getElementById("sheet");
const unit = document.querySelector('.switches [name="unit"][aria-pressed="true"]')?.value ?? "";
const posted = location.pathname === "/specs/form"; // the page brings what was typed
const keptAt = `sheet ${unit} ${form.elements.from.value || form.elements.template.value}`;
const typed = () => String(new URLSearchParams(new FormData(form)));
const begun = typed();
let timer = 0, busy = false, next = null;

function keep() {
  sessionStorage.setItem("sheet last", keptAt);
  const now = typed();
  if (now === begun && !posted) sessionStorage.removeItem(keptAt);
  else sessionStorage.setItem(keptAt, now);
}

// whereIs finds what has the focus again in a form that came back: by its id, a button by what it does, a part's head by the part.
function whereIs(at) {
  if (!at || !form.contains(at)) return null;
  if (at.id) return `#${CSS.escape(at.id)}`;
  if (at.matches("button")) return `button[value="${CSS.escape(at.value)}"]`;
  if (at.matches("summary") && at.parentElement.id) return `#${CSS.escape(at.parentElement.id)} > summary`;
  if (at.name) return `[name="${CSS.escape(at.name)}"][value="${CSS.escape(at.value)}"]`;
  return null;
}

// put shows the form that came back, where the page was: parts that were open stay open, the caret stays in its field.
function put(html, goTo) {
  const open = new Set([...form.querySelectorAll("details[open]")].map((d) => d.id));
  const closed = new Set([...form.querySelectorAll("details:not([open])")].map((d) => d.id));
  const at = document.activeElement;
  const place = whereIs(at), from = at?.selectionStart, to = at?.selectionEnd;
  form.innerHTML = html;
  for (const d of form.querySelectorAll("details[id]")) {
    if (open.has(d.id)) d.open = true;
    else if (closed.has(d.id) && !d.querySelector(".error") && !goTo) d.open = false;
  }
  if (goTo) return goTo()?.focus();
  const again = place && form.querySelector(place);
  again?.focus({ preventScroll: true });
  if (again && typeof from === "number") {
    try { again.setSelectionRange(from, to); } catch { /* a field without a caret */ }
  }
}

function say(text) {
  const p = document.createElement("p");
  p.className = "error";
  p.setAttribute("role", "alert");
  p.textContent = text;
  form.querySelector(":scope > .error.unsent")?.remove();
  p.classList.add("unsent");
  form.prepend(p);
}

// ask sends what is typed and shows what comes back. What was typed meanwhile is sent anew, and nothing that was pressed meanwhile is
// forgotten.
async function ask(act, goTo, body) {
  if (busy) {
    if (act !== "look" || !next) next = [act, goTo];
    return;
  }
  busy = true;
  const before = typed();
  const data = new URLSearchParams(body ?? before);
  data.set("act", act);
  try {
    const r = await fetch(form.getAttribute("action"), { method: "POST", body: data, headers: { "X-From": "module" } });
    const html = await r.text();
    if (!r.headers.get("Content-Type")?.startsWith("text/html")) say(html);
    else if (typed() === before) { put(html, goTo); keep(); }
    else next = act === "look" && next ? next : [act, goTo];
  } catch {
    say("The station does not answer. What is typed is kept here.");
  }
  busy = false;
  if (next) {
    const [act, goTo] = next;
    next = null;
    ask(act, goTo);
  }
}

function later(ms) {
  clearTimeout(timer);
  timer = setTimeout(() => ask("look"), ms);
}

form.addEventListener("input", (e) => { keep(); if (!e.isComposing && e.target.matches("input[type=text]")) later(700); });
form.addEventListener("change", () => { keep(); later(50); });
form.addEventListener("submit", (e) => {
  const act = e.submitter?.value ?? "look";
  clearTimeout(timer);
  if (act === "review" || act === "text") return keep();
  e.preventDefault();
  const [what, row] = act.split(" ");
  const list = row?.replace(/\.\d+$/, "");
  const last = () => [...form.querySelectorAll(`fieldset[id^="at-spec.${list}."]`)].at(-1)?.querySelector("input:not([type=hidden]), select");
  const adder = () => form.querySelector(`button[value="add ${list}"]`);
  ask(act, { add: last, copy: last, remove: adder, golden: () => document.getElementById("at-spec.golden")?.querySelector("summary") }[what]);
});

const kept = sessionStorage.getItem(keptAt);
if (posted && performance.getEntriesByType("navigation")[0]?.type === "navigate") keep();
else if (kept && kept !== begun) {
  await ask("look", null, kept);
  const note = document.createElement("p");
  note.className = "note";
  note.setAttribute("role", "status");
  note.append("What was typed here before is kept; it is not saved yet. ");
  const anew = document.createElement("button");
  anew.type = "button";
  anew.className = "small";
  anew.textContent = "Begin anew";
  anew.addEventListener("click", () => { sessionStorage.removeItem(keptAt); location.reload(); });
  note.append(anew);
  form.before(note);
}
form.dataset.ready = "yes";
