// Keeps the wall page as the station is: asks every five seconds; a station that does not answer is said so across the page.

const wall = document.getElementById("wall");
const old = document.getElementById("wall-old");
const every = 5000; // ms
let answered = new Date();

async function look() {
  try {
    const from = wall.dataset.from ? `?from=${encodeURIComponent(wall.dataset.from)}` : "";
    const answer = await fetch("/wall/now" + from, { signal: AbortSignal.timeout(every) });
    if (!answer.ok) throw new Error(answer.status);
    wall.innerHTML = await answer.text();
    answered = new Date();
    old.hidden = true;
  } catch {
    old.textContent = `The station was not heard since ${answered.toTimeString().slice(0, 5)}: this may be old.`;
    old.hidden = false;
  }
  setTimeout(look, every);
}
setTimeout(look, every);
