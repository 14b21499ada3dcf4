// Runs before the first paint, so that a remembered choice of light or dark never flashes, nor a page without its words.
(() => {
  const page = document.documentElement;
  page.dataset.wordless = "";
  // A script that can't be had or read says nothing itself.
  const fails = (/** @type {Event} */ { target }) => {
    delete page.dataset.wordless;
    const told = document.querySelector('[data-hook="failed"]');
    if (target instanceof HTMLScriptElement && told instanceof HTMLElement) told.hidden = false;
  };
  addEventListener("error", fails, true);
  try {
    const choice = localStorage.getItem("sackwright.theme");
    if (choice === "light" || choice === "dark") page.dataset.theme = choice;
  } catch {
    // No storage: the system's choice stands.
  }
})();
