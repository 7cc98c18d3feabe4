/* The working: each line of the formula, the same line with the numbers put in, and its value. */

(function (HB) {
  "use strict";

  const MATHS = "http://www.w3.org/1998/Math/MathML";

  HB.working = function (bench, declared, values, steps) {
    /** @type {Record<string, number>} */
    const known = {};
    for (const input of declared.inputs) {
      if (typeof values[input.name] === "number") known[input.name] = values[input.name];
    }
    for (const item of HB.all("[data-step]", bench)) {
      const value = steps[Number(item.getAttribute("data-step"))];
      item.hidden = typeof value !== "number";
      if (typeof value !== "number") continue;
      const name = item.getAttribute("data-name");
      let filled = item.querySelector(".hb-put-in");
      if (!filled) {
        filled = HB.make("span", {class: "hb-put-in"});
        HB.one(".hb-step", item).before(filled);
      }
      filled.replaceChildren("= ", numbersIn(HB.one("math", item), known, Boolean(name)));
      HB.one(".hb-step", item).textContent = `= ${HB.numerals.significant(value, 5)}`;
      if (name) known[name] = value;
    }
  };

  /** @param {Element} formula @param {Record<string, number>} known @param {boolean} named */
  function numbersIn(formula, known, named) {
    const copy = /** @type {Element} */ (formula.cloneNode(true));
    if (named) { // the name and its equals sign stand before the formula already
      const row = HB.one(":scope > *", copy);
      HB.one(":scope > *", row).remove();
      HB.one(":scope > *", row).remove();
    }
    for (const node of HB.all("[data-n]", copy)) {
      const value = known[node.getAttribute("data-n") || ""];
      if (value === undefined) continue;
      const number = document.createElementNS(MATHS, "mn");
      number.textContent = HB.numerals.significant(value, 5);
      node.replaceWith(number);
    }
    return copy;
  }

  HB.noWorking = function (bench) {
    for (const item of HB.all("[data-step]", bench)) item.hidden = true;
  };
})(window.HB = window.HB || /** @type {any} */ ({}));
