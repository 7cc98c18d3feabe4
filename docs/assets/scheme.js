/* The colours follow the system until the reader chooses. The theme keeps what it found on the first visit as if
   it had been chosen; this keeps whether it was, and tells the theme of the system's wish where it was not. */

(function (HB) {
  "use strict";

  const CHOSEN = "scheme";
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  /** @type {NodeListOf<HTMLInputElement>} */
  const inputs = document.querySelectorAll('input[name="__palette"]');
  const theme = /** @type {any} */ (window);
  if (inputs.length !== 2 || !theme.__md_set) return;

  const chosen = () => HB.store.get(CHOSEN) !== undefined;

  function follow() {
    if (chosen()) return;
    const wanted = dark.matches ? "(prefers-color-scheme: dark)" : "(prefers-color-scheme: light)";
    for (const input of inputs)
      if (
        input.dataset.mdColorMedia === wanted &&
        input.dataset.mdColorScheme !== document.body.dataset.mdColorScheme
      ) {
        input.checked = true;
        input.dispatchEvent(new Event("change", { bubbles: true }));
      }
    leaveOpen();
  }

  /* Kept in this form, the theme asks the system before it draws the next page. */
  function leaveOpen() {
    const kept = theme.__md_get("__palette");
    if (!chosen() && kept && kept.color) {
      kept.color.media = "(prefers-color-scheme)";
      theme.__md_set("__palette", kept);
    }
  }

  document.addEventListener("click", (event) => {
    if (/** @type {Element} */ (event.target).closest('label[for^="__palette"]')) HB.store.set(CHOSEN, "yes");
  });
  dark.addEventListener("change", follow);
  window.addEventListener("pagehide", leaveOpen);
  // The theme's script stands below this one, and puts back what it kept when the page has been read.
  document.addEventListener("DOMContentLoaded", () => window.setTimeout(follow));
})((window.HB = window.HB || /** @type {any} */ ({})));
