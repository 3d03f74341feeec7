// Gauges and scanners that type. A burst is what came faster than people type, up to Enter, Tab, a line feed or, without any of them, a
// pause, which serves where no gauge types. Where gauges type, the station is asked whose a burst is before anything is done with it: a gauge's text leaves the field that
// it went into as it was. A scanner's is what was scanned, whatever stood in the entry line; in another field that takes text it is typed
// there and sends nothing.

const entry = document.getElementById("entry-text");
const quick = 30; // ms between two keys of a gauge or a scanner
const slow = 250; // the same after a gauge's own prefix
const pause = 400; // ms without a key after which a scan without an end is over
const least = 6; // keys that a scan without an end has, so that nobody's quick fingers are taken for one
let burst = null;
let last = -Infinity; // when the last character came
let ended = -Infinity; // when the end of the last burst came
let over = 0; // the timer of the pause

// endOf is how a key ends a burst: "Enter", for a line feed too, or "Tab"; "" where it ends none.
function endOf(e) {
  if (e.key === "Enter" || e.key === "Tab") return e.key;
  return e.ctrlKey && !e.altKey && !e.metaKey && /^[jm]$/i.test(e.key) ? "Enter" : "";
}

addEventListener("keydown", (e) => {
  if (e.key === "Shift" || e.key === "CapsLock" || e.key === "Control") return;
  const end = endOf(e);
  if (!end) ended = -Infinity; // an end of line's second key follows the first
  if (!end && (e.ctrlKey || e.altKey || e.metaKey || e.isComposing)) { burst = null; return; }
  clearTimeout(over);
  const prefixes = [...document.querySelectorAll(".typing")].map((el) => el.dataset.prefix);
  const known = burst && prefixes.some((p) => p && (burst.text.startsWith(p) || p.startsWith(burst.text)));
  const gap = burst ? e.timeStamp - burst.last : Infinity;
  const goesOn = gap <= (known ? slow : quick);
  if (!end && e.key.length === 1) {
    if (goesOn) burst.gaps.push(gap); else burst = { text: "", gaps: [], field: untouched(e.target), joins: e.timeStamp - last <= slow };
    last = e.timeStamp;
    if (e.key === " " && burst.text.length > 1) e.stopPropagation(); // a blank in a code is no key of the bench
    burst.text += e.key;
    burst.last = e.timeStamp;
    if (burst.text.length >= least && !prefixes.length) over = setTimeout(paused, pause);
    return;
  }
  const done = end && goesOn && burst.text.length > 2 ? burst : null;
  burst = null;
  if (done) {
    stop(e);
    addEventListener("keypress", stop, { capture: true, once: true }); // where the key's character comes all the same
    addEventListener("keyup", () => removeEventListener("keypress", stop, true), { once: true });
    done.gaps.push(gap);
    putBack(done.field);
    give(done, end, prefixes.length > 0);
    ended = e.timeStamp;
  } else if (end && e.timeStamp - ended <= quick) {
    stop(e); // the second key of an end of line
    ended = e.timeStamp;
  }
}, true);

function stop(e) {
  e.preventDefault();
  e.stopImmediatePropagation();
}

// paused takes a burst that went into the entry line and was followed by nothing as a scan.
function paused() {
  const done = burst;
  burst = null;
  if (!done || done.field.el !== entry || document.activeElement !== entry) return;
  scanned(done);
}

// untouched remembers the field that keys go to, as it is before them.
function untouched(target) {
  const el = target.closest?.("input, textarea, select") ?? entry;
  const caret = el.matches("select, [type=checkbox], [type=radio]") ? null : [el.selectionStart, el.selectionEnd];
  return { el, value: el.value, caret };
}

function putBack({ el, value, caret }) {
  el.value = value;
  if (caret && caret[0] !== null) el.setSelectionRange(...caret);
}

// scanned enters a scan, with what came just before it where a slow line cut it in two.
function scanned({ text, field, joins }) {
  entry.value = entry.dataset.scanned = (joins && field.el === entry ? field.value : "") + text;
  entry.form.requestSubmit();
}

async function give(done, end, gauges) {
  const { text, gaps, field } = done;
  if (gauges) {
    let answer = null;
    try {
      const body = new URLSearchParams({ text, end, gaps: gaps.map((ms) => ms.toFixed(1)).join(" ") });
      for (const field of document.querySelectorAll("#seen input")) body.set(field.name, field.value);
      answer = await fetch("/bench/typed", { method: "POST", body, headers: { "X-From": "module" } });
    } catch { /* said below */ }
    if (answer?.ok) return;
    if (answer?.status !== 404) {
      document.dispatchEvent(new CustomEvent("bench-notice", { detail: answer ? await answer.text() : "Its answer was lost: look whether the reading was taken. What was typed stands in its field." }));
      return typed(text, field);
    }
  }
  // A list and a box take no text: what was scanned while one had the focus was meant for the bench.
  if (field.el === entry || !field.caret) return scanned(done);
  typed(text, field);
}

// typed puts a text where it was typed.
function typed(text, { el, caret }) {
  if (caret && el.isConnected) el.setRangeText(text, el.selectionStart, el.selectionEnd, "end");
}
