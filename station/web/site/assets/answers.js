// Names this window to the station, numbers its commands, and finds out what became of one whose answer was lost: the live stream tells
// which commands of this window arrived and were answered.

// --- the window ----------------------------------------------------------------------------------------------------

// The name lasts over a reload. While the page is open it is nowhere else, so that a copied window takes another.
const me = sessionStorage.getItem("window") || Array.from(crypto.getRandomValues(new Uint8Array(12)), (n) => n.toString(16).padStart(2, "0")).join("");
sessionStorage.removeItem("window");
addEventListener("pagehide", () => sessionStorage.setItem("window", me));
addEventListener("pageshow", () => sessionStorage.removeItem("window"));
document.body.dataset.window = me;

// --- commands ------------------------------------------------------------------------------------------------------

let pressed = Date.now(); // numbers rise over a reload too

document.addEventListener("bench-sends", ({ detail: body }) => {
  body.set("window", me);
  body.set("press", String(++pressed));
});

// --- lost answers --------------------------------------------------------------------------------------------------

let owed = null; // the command whose answer was lost, the station's run that it was sent to, and how many beats came since
let run = document.querySelector(".standing").dataset.run; // the station's, since it was started
const beatsToWait = 3; // what was sent has arrived by then, or never does

document.addEventListener("bench-unanswered", ({ detail: body }) => {
  owed = { press: Number(body.get("press")), run, beats: 0 };
  say("Its answer was lost. Whether it was done is told here when the station is heard.", { waits: true });
});

document.addEventListener("bench-answers", ({ detail: heard }) => {
  run = heard.run;
  settle(heard.answers ?? []);
});

let known = [];

function settle(answers) {
  known = answers;
  if (!owed) return;
  if (owed.run !== run) return over("The station was started anew before it answered: what the page shows now is what it knows. Look before you press again.", false);
  const answer = known.find((a) => a.press === owed.press);
  if (answer?.done) return over(answer.refused || "It was done: only its answer was lost.", !answer.refused);
  if (!answer && owed.beats >= beatsToWait) over("It never reached the station: nothing was done. Press it again.", false);
}

document.addEventListener("bench-beat", () => {
  if (!owed) return;
  owed.beats++;
  settle(known);
});

function over(text, done) {
  owed = null;
  say(text, { done });
}

function say(text, how) { document.dispatchEvent(new CustomEvent("bench-settled", { detail: { text, ...how } })); }
