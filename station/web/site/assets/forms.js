// Keeps what is typed in a page's forms until it is sent: a reload, or a switch of units or light, loses nothing. It stays
// in this tab alone, and is put back only where the station's own answer does not bring it already.

const unit = document.querySelector('.switches [name="unit"][aria-pressed="true"]')?.value ?? "";
const keyOf = (form) => `typed ${unit} ${location.pathname} ${form.id} ${form.getAttribute("action")}`;
const controls = (form) => [...form.elements].filter((e) => e.name && e.matches("input, select, textarea") && !["hidden", "file", "submit"].includes(e.type));
const boxed = (e) => e.type === "checkbox" || e.type === "radio";

// changed says whether a control differs from what the page brought.
function changed(e) {
  if (boxed(e)) return e.checked !== e.defaultChecked;
  if (e.matches("select")) return e.selectedIndex !== Math.max(0, [...e.options].findIndex((o) => o.defaultSelected));
  return e.value !== e.defaultValue;
}

function keep(form) {
  const typed = controls(form).map((e, i) => [i, e]).filter(([, e]) => changed(e)).map(([i, e]) => [i, e.name, boxed(e) ? e.checked : e.value]);
  if (typed.length) sessionStorage.setItem(keyOf(form), JSON.stringify(typed));
  else sessionStorage.removeItem(keyOf(form));
}

function putBack(form) {
  const typed = sessionStorage.getItem(keyOf(form));
  if (!typed) return;
  if (form.querySelector(".error")) return sessionStorage.removeItem(keyOf(form)); // refused: what was typed is there
  const all = controls(form);
  let any = false;
  for (const [i, name, value] of JSON.parse(typed)) {
    const e = all[i];
    if (e?.name !== name) continue;
    if (boxed(e)) e.checked = value;
    else e.value = value;
    any = any || changed(e);
  }
  if (!any) return;
  for (let d = form.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
  const note = document.createElement("p");
  note.className = "note";
  note.setAttribute("role", "status");
  note.append("What was typed here before is kept; it is not sent yet. ");
  const anew = document.createElement("button");
  anew.type = "button";
  anew.className = "small";
  anew.textContent = "Begin anew";
  anew.addEventListener("click", () => { form.reset(); keep(form); note.remove(); });
  note.append(anew);
  form.prepend(note);
}

// A specification's form keeps what is typed itself, until the page of the saved revision comes.
const saved = sessionStorage.getItem("sheet saving");
if (saved && /^\/specs\/[^/]+$/.test(location.pathname)) sessionStorage.removeItem(saved);
sessionStorage.removeItem("sheet saving");
document.querySelector("form[data-saves]")?.addEventListener("submit", (e) => {
  if (!e.submitter?.hasAttribute("formaction")) sessionStorage.setItem("sheet saving", sessionStorage.getItem("sheet last") ?? "");
});

for (const form of document.querySelectorAll('main form[method="post"]:not([data-kept="own"])')) {
  if (!controls(form).length) continue;
  putBack(form);
  for (const what of ["input", "change"]) form.addEventListener(what, () => keep(form));
  form.addEventListener("submit", () => sessionStorage.removeItem(keyOf(form)));
}
