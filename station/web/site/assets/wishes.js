// The form of a new instrument, or of a visit: where a choice changes, the form comes back with what that proposes and what was typed, and what is
// typed is kept in this tab until it is sent. Without this module a button shows what the choices propose.

const form = document.getElementById("wishes");
const choices = ["kind", "set", "tuning", "action", "hand", "with"];
const typed = () => new URLSearchParams(new FormData(form));
const keptAt = `wishes ${form.elements["shown-in"].value} ${location.pathname}`;

function put(html) {
  const open = [...form.querySelectorAll("details[open]")].map((d) => d.id);
  const at = document.activeElement?.id;
  form.innerHTML = html;
  for (const id of open) document.getElementById(id).open = true;
  if (at) document.getElementById(at)?.focus({ preventScroll: true });
}

function say(text) {
  form.querySelector(":scope > .unsent")?.remove();
  const p = document.createElement("p");
  p.className = "error unsent";
  p.setAttribute("role", "alert");
  p.textContent = text;
  form.prepend(p);
}

// look asks what the choices propose; what was typed meanwhile is sent anew.
async function look(body) {
  const before = String(typed());
  body.set("act", "look");
  try {
    const r = await fetch(form.getAttribute("action"), { method: "POST", body, headers: { "X-From": "module" } });
    const text = await r.text();
    if (!r.headers.get("Content-Type")?.startsWith("text/html")) say(text);
    else if (String(typed()) !== before) look(typed());
    else { put(text); keep(); }
  } catch {
    say("The station does not answer. What is typed is kept here.");
  }
}

function keep() {
  const now = typed();
  now.delete("password");
  sessionStorage.setItem(keptAt, now);
}

form.addEventListener("input", keep);
form.addEventListener("change", (e) => { if (choices.includes(e.target.name)) look(typed()); });
form.addEventListener("submit", () => sessionStorage.removeItem(keptAt));
const kept = sessionStorage.getItem(keptAt);
if (kept && !form.querySelector(".error")) look(new URLSearchParams(kept));
