// Names this window to the station, numbers its commands, and finds out what became of those whose answers were lost: the live stream tells
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

let owed = []; // the commands whose answers were lost, in order: the station's run that each was sent to, how many beats came since, what is known
let run = document.querySelector(".standing").dataset.run; // the station's, since it was started
const beatsToWait = 3; // what was sent has arrived by then, or never does

document.addEventListener("bench-unanswered", ({ detail: body }) => {
  owed.push({ press: Number(body.get("press")), run, beats: 0 });
  say("Its answer was lost. Whether it was done is told here when the station is heard.", { waits: true });
});

document.addEventListener("bench-answers", ({ detail: heard }) => {
  run = heard.run;
  settle(heard.answers ?? []);
});

let known = [];

// settle says what became of all of them once it is known of each.
function settle(answers) {
  known = answers;
  for (const one of owed) one.over ??= outcome(one);
  if (owed.length === 0 || owed.some((one) => !one.over)) return;
  const all = owed.map((one) => one.over);
  owed = [];
  say(all.length === 1 ? all[0].text : all.map((one, i) => `${i + 1}. ${one.text}`).join(" "), { done: all.every((one) => one.done) });
}

function outcome(one) {
  if (one.run !== run) return { text: "The station was started anew before it answered: what the page shows now is what it knows. Look before you press again." };
  const answer = known.find((a) => a.press === one.press);
  if (answer?.done) return { text: answer.refused || "It was done: only its answer was lost.", done: !answer.refused };
  if (!answer && one.beats >= beatsToWait) return { text: "It never reached the station: nothing was done. Press it again." };
}

document.addEventListener("bench-beat", () => {
  for (const one of owed) one.beats++;
  settle(known);
});

function say(text, how) { document.dispatchEvent(new CustomEvent("bench-settled", { detail: { text, ...how } })); }
