// The key ? leads to the page that explains what is shown: the first that the page itself leads to, else the list of all. A field that takes text keeps it.

addEventListener("keydown", (e) => {
  if (e.key !== "?" || e.ctrlKey || e.altKey || e.metaKey || e.defaultPrevented) return;
  if (e.target.closest?.("input, textarea, select, [contenteditable]")) return;
  location.href = (document.querySelector("main a.help-here") ?? document.getElementById("help")).href;
});
