// Keeps the gauges' strip as the gauges are, and the number of alarms beside its page: asks every few seconds while the page
// is looked at, and says when the station does not answer.

const strip = document.getElementById("health");
const alarms = document.getElementById("alarm-count"); // none where the house has no alarms
const every = 3000;
let shown = strip.innerHTML.trim();

async function look() {
  if (document.hidden) return;
  let now;
  try {
    const answer = await fetch("/health", { cache: "no-store" });
    if (!answer.ok) return;
    now = (await answer.text()).trim();
    if (alarms) alarms.textContent = answer.headers.get("X-Alarms") ?? "";
  } catch {
    now = "<p>The station does not answer. What is shown may be old.</p>";
  }
  if (now === shown) return;
  const open = strip.querySelector("details[open]") !== null, at = strip.contains(document.activeElement);
  if (at && document.activeElement.tagName !== "SUMMARY") return; // somebody is about to follow a link
  shown = now;
  strip.innerHTML = now;
  const lines = strip.querySelector("details");
  if (lines === null) return;
  lines.open = open;
  if (at) lines.querySelector("summary").focus();
}

setInterval(look, every);
document.addEventListener("visibilitychange", look);
