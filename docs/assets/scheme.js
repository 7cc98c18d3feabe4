/* Light or dark: as the system has it until the reader chooses. What applies it stands in the page, before anything
   is drawn: see colours.js. */

(function (HB) {
  "use strict";

  /** @type {NodeListOf<HTMLInputElement>} */
  const inputs = document.querySelectorAll('input[name="__palette"]');
  const theme = /** @type {any} */ (window);
  const { colours } = HB;
  if (!colours) return;

  /** Colours change at once, and not each part of the page in its own time. @param {HTMLInputElement} [input] */
  const apply = (input) => {
    const { body } = document;
    body.setAttribute("data-md-color-switching", "");
    colours(input);
    window.setTimeout(() => body.removeAttribute("data-md-color-switching"), 50);
  };

  /** @param {HTMLInputElement} input */
  function choose(input) {
    apply(input);
    const { mdColorMedia: media, mdColorScheme: scheme, mdColorPrimary: primary, mdColorAccent: accent } = input.dataset;
    theme.__md_set("__palette", { index: [...inputs].indexOf(input), color: { media, scheme, primary, accent } });
  }

  for (const [place, input] of inputs.entries()) {
    input.addEventListener("change", () => choose(input));
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const other = inputs[(place + 1) % inputs.length];
      other.click();
      other.focus();
    });
  }
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => apply());
})((window.HB = window.HB || /** @type {any} */ ({})));
