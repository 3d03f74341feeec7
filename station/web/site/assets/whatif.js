// Moves a limit of the what-if section: each slider shows its value with a true minus, and the answer follows.

const form = document.querySelector("#what-if-form");
const answer = document.querySelector("#what-if-answer");
let running = null;

// A slider drops zeros at the end; the value is shown with the digits of its step, and with how far it is from its zero, which is
// the specification's own limit.
function digits(slider) {
  const decimals = (slider.step.split(".")[1] ?? "").length;
  const write = (number, sign) => (sign && number > 0 ? "+" : "") + number.toFixed(decimals).replace("-", "−");
  const moved = Number(slider.value) - Number(slider.dataset.now);
  return write(Number(slider.value)) + (Math.abs(moved) < Number(slider.step) / 2 ? " as specified" : ` (${write(moved, true)})`);
}

async function ask() {
  running?.abort();
  running = new AbortController();
  const query = new URLSearchParams(new FormData(form));
  try {
    const response = await fetch(`${form.dataset.part}?${query}`, { signal: running.signal });
    if (response.ok) answer.innerHTML = await response.text();
  } catch (error) {
    if (error.name !== "AbortError") answer.textContent = "The station does not answer.";
  }
}

if (form) {
  for (const slider of form.querySelectorAll('input[type="range"]')) {
    const shown = form.querySelector(`output[for="${slider.id}"]`);
    slider.addEventListener("input", () => { shown.value = digits(slider); ask(); });
  }
  form.querySelector("[data-reset]")?.addEventListener("click", () => {
    for (const slider of form.querySelectorAll('input[type="range"]')) {
      slider.value = slider.dataset.now;
      form.querySelector(`output[for="${slider.id}"]`).value = digits(slider);
    }
    ask();
  });
  form.classList.add("scripted");
}
