/* Light or dark, before a page is drawn: the scheme that was chosen, kept in the theme's own form, or the system's.
   Stands in every page, behind the choice in its head. */

window.HB = /** @type {any} */ ({
  colours(/** @type {HTMLInputElement | undefined} */ asked) {
    /** @type {HTMLInputElement[]} */
    const inputs = [...document.querySelectorAll('input[name="__palette"]')];
    const kept = /** @type {any} */ (window).__md_get("__palette");
    const dark = window.matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
    const of = (/** @type {string} */ media) => inputs.find((one) => one.dataset.mdColorMedia === media);
    const input = asked || of(kept?.color?.media) || of(`(prefers-color-scheme: ${dark})`) || inputs[0];
    const shown = document.body.dataset;
    input.checked = true;
    for (const name of ["mdColorScheme", "mdColorPrimary", "mdColorAccent"])
      if (shown[name] !== input.dataset[name]) shown[name] = input.dataset[name];
    const meta = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=color-scheme]"));
    meta.content = shown.mdColorScheme === "slate" ? "dark" : "light";
  },
});
window.HB.colours();
