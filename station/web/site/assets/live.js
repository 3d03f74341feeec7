// Keeps the parts of a page that move as they are on the station: asks every second while the page is looked at. A part that somebody
// is about to use, or has opened, stays until they are done with it.

const from = document.querySelector("[data-live-from]");
const every = 700;
const shown = new Map([...from.querySelectorAll("[data-live]")].map((part) => [part.id, part.innerHTML]));

async function look() {
  if (document.hidden) return;
  let parts;
  try {
    const answer = await fetch(from.dataset.liveFrom, { cache: "no-store" });
    if (!answer.ok) return;
    parts = new DOMParser().parseFromString(await answer.text(), "text/html").querySelectorAll("[data-live]");
  } catch {
    return; // the strip of the gauges says that the station does not answer
  }
  for (const now of parts) {
    const part = document.getElementById(now.id);
    if (!part || shown.get(now.id) === now.innerHTML) continue;
    if (now.dataset.live === "idle" && (part.contains(document.activeElement) || part.querySelector("details[open]"))) continue;
    shown.set(now.id, now.innerHTML);
    part.innerHTML = now.innerHTML;
  }
}

setInterval(look, every);
document.addEventListener("visibilitychange", look);
