/* Light or dark, before a page is drawn: the scheme that was chosen, kept in the theme's own form, or the system's.
   Stands in every page, behind the choice in its head. */

window.HB = /** @type {any} */ ({
  colours(/** @type {HTMLInputElement | undefined} */ asked) {
    /** @type {HTMLInputElement[]} */
    const inputs = [...document.querySelectorAll('input[name="__palette"]')];
    const system = window.matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
    let kept;
    try {
      kept = /** @type {any} */ (window).__md_get("__palette")?.color;
    } catch (problem) {
      // refused, or cut short: as if nothing was chosen
    }
    const chosen = inputs.find(
      ({ dataset }) => dataset.mdColorMedia === kept?.media && dataset.mdColorScheme === kept?.scheme,
    );
    const wished = inputs.find(({ dataset }) => dataset.mdColorMedia === `(prefers-color-scheme: ${system})`);
    const input = asked || chosen || wished || inputs[0];
    const shown = document.body.dataset;
    input.checked = true;
    for (const name of ["mdColorScheme", "mdColorPrimary", "mdColorAccent"])
      if (shown[name] !== input.dataset[name]) shown[name] = input.dataset[name];
    const meta = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=color-scheme]"));
    meta.content = shown.mdColorScheme === "slate" ? "dark" : "light";
  },
});
window.HB.colours();
