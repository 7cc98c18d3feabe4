/* The working: each line of the formula, the same line with the numbers put in, and its value. The lines come
   from Python, with a mark on each name and constant; a sentence has its numbers in it, a formula behind it. */

(function (HB) {
  "use strict";

  const MATHS = "http://www.w3.org/1998/Math/MathML";
  const GIVEN = 7; // digits of what was given, and of what was found, as engine/phrases.py prints them
  const FOUND = 5;

  /** @param {number} number @param {number} digits */
  const worked = (number, digits) => HB.numerals.worked(number, digits).replace("-", "−");

  HB.working = function (bench, declared, values, steps) {
    /** @type {Record<string, string>} */
    const known = {};
    for (const input of declared.inputs) {
      if (typeof values[input.name] === "number") known[input.name] = worked(values[input.name], GIVEN);
    }
    const said = bench.querySelector(".hb-converted");
    if (said) said.remove();
    for (const item of HB.all("[data-step]", bench)) {
      const value = steps[Number(item.getAttribute("data-step"))];
      item.hidden = typeof value !== "number";
      if (typeof value !== "number") continue;
      const name = item.getAttribute("data-name");
      const text = worked(value, FOUND);
      const shown = HB.one(".hb-step", item);
      const unit = shown.getAttribute("data-u");
      shown.textContent = `= ${unit ? `${text}\u00a0${unit}` : text}`;
      for (const told of HB.all(".hb-told", item)) putIn(told, known);
      for (const said of HB.all(".hb-expr", item)) behind(said, known, text);
      if (name) known[name] = text;
    }
    if (HB.prefersUS() && HB.workingInUS) HB.workingInUS(bench, declared, values);
  };

  /* A formula with its numbers, behind the same in words; left out where it would say the value once more. */
  /** @param {HTMLElement} said @param {Record<string, string>} known @param {string} value */
  function behind(said, known, value) {
    let place = /** @type {Element} */ (said.nextElementSibling);
    if (place.className !== "hb-put-in") {
      place = HB.make("span", { class: "hb-put-in" });
      said.after(" ", place);
    }
    const copy = /** @type {HTMLElement} */ (said.cloneNode(true));
    putIn(copy, known);
    const idle = copy.textContent === value || copy.textContent === said.textContent;
    place.replaceChildren(...(idle ? [] : ["= ", ...copy.childNodes]));
  }

  /** @param {HTMLElement} said @param {Record<string, string>} known */
  function putIn(said, known) {
    for (const node of HB.all("[data-n], [data-v]", said)) {
      const constant = node.getAttribute("data-v");
      const given =
        constant === null ? known[node.getAttribute("data-n") || ""] : worked(Number(constant), FOUND);
      if (given === undefined) {
        node.textContent = node.getAttribute("data-w") || node.textContent;
        continue;
      }
      const unit = node.getAttribute("data-u");
      const number = given.startsWith("−") ? `(${given})` : given;
      const text = unit ? `${number}\u00a0${unit}` : number;
      if (node.namespaceURI !== MATHS) node.textContent = text;
      else {
        const figure = document.createElementNS(MATHS, "mn");
        figure.textContent = text;
        node.replaceWith(figure);
      }
    }
  }

  HB.noWorking = function (bench) {
    for (const item of HB.all("[data-step]", bench)) item.hidden = true;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
