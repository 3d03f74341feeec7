// Plays what has just happened at the bench. The notes of each sound stand in the page; this module alone touches the browser's audio.

const place = document.getElementById("sounds");
const table = JSON.parse(place.dataset.notes);
const switchOn = document.getElementById("sound");
const muted = document.getElementById("muted");
const apart = 120; // ms of silence between two sounds

switchOn.checked = localStorage.getItem("tones") !== "off";
switchOn.addEventListener("change", () => {
  localStorage.setItem("tones", switchOn.checked ? "on" : "off");
  tell();
});

// --- audio ---------------------------------------------------------------------------------------------------------

// A browser plays nothing before somebody has touched the page. Until then the page says so, and what would have been heard is lost.
const audio = new AudioContext();

function tell() { muted.hidden = !switchOn.checked || audio.state === "running"; }
audio.addEventListener("statechange", tell);
for (const touch of ["pointerdown", "keydown"]) {
  addEventListener(touch, () => { if (audio.state !== "running") audio.resume().then(tell, tell); }, true);
}

let free = 0; // when the sound that plays now is over, s of the audio's clock

// play plays a sound after those that are still to be heard, and returns how many ms pass until it begins and until it is over.
function play(name) {
  const notes = table[name];
  if (!notes || audio.state !== "running") return [0, 0];
  const begin = Math.max(audio.currentTime, free);
  for (const note of notes) {
    const at = begin + note.at / 1000, end = at + note.for / 1000;
    const oscillator = audio.createOscillator();
    const gain = audio.createGain();
    oscillator.frequency.value = note.hz;
    gain.gain.setValueAtTime(0.12, at);
    gain.gain.setValueAtTime(0.12, end - 0.03);
    gain.gain.exponentialRampToValueAtTime(0.001, end);
    oscillator.connect(gain).connect(audio.destination);
    oscillator.start(at);
    oscillator.stop(end);
  }
  const last = notes[notes.length - 1];
  free = begin + (last.at + last.for + apart) / 1000;
  return [1000 * (begin - audio.currentTime), 1000 * (free - audio.currentTime)];
}

// --- the bench -----------------------------------------------------------------------------------------------------

let heard = null; // the newest sound that was played, or was over when this page came

document.addEventListener("bench-sounds", ({ detail: sounds }) => {
  const newest = sounds.length ? sounds[sounds.length - 1].id : 0;
  if (heard !== null && switchOn.checked) for (const { id, name } of sounds) if (id > heard) play(name);
  heard = newest;
});
document.addEventListener("bench-again", () => { heard = null; }); // the stream was lost: what came meanwhile is over
document.addEventListener("bench-lost", () => { if (switchOn.checked) play("station lost"); });

// --- the sound check -----------------------------------------------------------------------------------------------

document.addEventListener("click", async (e) => {
  const chosen = e.target.closest?.("[data-sound]")?.dataset.sound;
  if (!chosen) return;
  await audio.resume().catch(() => {});
  tell();
  const says = (text) => { for (const line of document.querySelectorAll(".sound-name")) line.textContent = text; };
  if (audio.state !== "running") return says("The browser lets this page play nothing.");
  for (const name of chosen === "all" ? [...place.querySelectorAll("li [data-sound]")].map((b) => b.dataset.sound) : [chosen]) {
    const [begins, over] = play(name);
    setTimeout(() => says(name), begins);
    if (chosen === "all") await new Promise((done) => setTimeout(done, over + 400));
  }
});

tell();
