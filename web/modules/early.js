// Runs before the first paint, so that a remembered choice of light or dark never flashes, nor a page without its words.
(() => {
  document.documentElement.dataset.wordless = "";
  try {
    const choice = localStorage.getItem("sackwright.theme");
    if (choice === "light" || choice === "dark") document.documentElement.dataset.theme = choice;
  } catch {
    // No storage: the system's choice stands.
  }
})();
