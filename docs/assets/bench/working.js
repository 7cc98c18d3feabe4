/* The working: each line of the formula, the same line with the numbers put in, and its value. The lines come
   from Python, with a mark on each name and constant; a sentence has its numbers in it, a formula behind it. */

(function (HB) {
  "use strict";

  const MATHS = "http://www.w3.org/1998/Math/MathML";
  const GIVEN = 7; // digits of what was given, and of what was found, as engine/phrases.py prints them
  const FOUND = 5;
  const CLOSE = 10; // as in engine/working.py

  /** @param {number} number @param {number} digits */
  const worked = (number, digits) => HB.numerals.worked(number, digits).replace("-", "−");

  HB.working = function (bench, declared, values, steps) {
    /** @type {Record<string, string>} */
    const known = {};
    for (const input of declared.inputs) {
      if (typeof values[input.name] === "number") known[input.name] = worked(values[input.name], GIVEN);
    }
    const lines = new Set(); // what two lines look up is told once
    const items = HB.all("[data-step]", bench);
    const close = tooClose(items, values, steps);
    inMetric(bench);
    for (const item of items) {
      const value = steps[Number(item.getAttribute("data-step"))];
      item.hidden = typeof value !== "number";
      if (typeof value !== "number") continue;
      const name = item.getAttribute("data-name");
      const text = worked(value, close.has(name) ? GIVEN : FOUND);
      const shown = HB.one(".hb-step", item);
      const unit = shown.getAttribute("data-u");
      shown.textContent = `= ${unit ? `${text}\u00a0${unit}` : text}`;
      for (const told of HB.all(".hb-told", item)) putIn(told, known);
      for (const said of HB.all(".hb-expr", item)) behind(said, known, text);
      if (name) known[name] = text;
      item.hidden = lines.has(item.textContent);
      lines.add(item.textContent);
    }
  };

  /* The names of numbers that lie so close together that their difference needs more digits. */
  /** @param {HTMLElement[]} items @param {Record<string, any>} values @param {any[]} steps */
  function tooClose(items, values, steps) {
    const numbers = { ...values };
    const found = new Set();
    for (const item of items) {
      const value = steps[Number(item.getAttribute("data-step"))];
      const names = (item.getAttribute("data-apart") || "").split(" ");
      const [one, other] = names.map((name) => numbers[name]);
      if (Math.abs(one - other) * CLOSE < Math.abs(one)) names.forEach(found.add, found);
      if (typeof value === "number") numbers[item.getAttribute("data-name") || "-"] = value;
    }
    return found;
  }

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
      const raised = given.includes("×") && /** @type {Element} */ (node.parentNode).localName === "msup";
      const number = raised || given.startsWith("−") ? `(${given})` : given;
      const text = unit ? `${number}\u00a0${unit}` : number;
      if (node.namespaceURI !== MATHS) node.textContent = text;
      else {
        const figure = document.createElementNS(MATHS, "mn");
        figure.textContent = text;
        node.replaceWith(figure);
      }
    }
  }

  /* A formula is worked in the units that it is made for; a reader of others is told so. */
  /** @param {HTMLElement} bench */
  function inMetric(bench) {
    const steps = bench.querySelector(".hb-steps");
    const said = bench.querySelector(".hb-metric");
    if (said && !HB.prefersUS()) said.remove();
    if (!steps || said || !HB.prefersUS()) return;
    steps.before(HB.make("p", { class: "hb-metric" }, "The working is in metric units."));
  }

  HB.noWorking = function (bench) {
    for (const item of HB.all("[data-step]", bench)) item.hidden = true;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
