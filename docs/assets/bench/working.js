/* The working: each line of the formula, the same line with the numbers put in, and its value. The lines come
   from Python, with a mark on each name and constant; a sentence has its numbers in it, a formula behind it. */

(function (HB) {
  "use strict";

  const GIVEN = 7; // digits of what was given, and of what was found, as engine/phrases.py prints them
  const FOUND = 5;
  const CLOSE = 10; // as in engine/working.py

  /** @param {number} number @param {number} digits */
  const worked = (number, digits) => HB.numerals.worked(number, digits).replace("-", "−");

  HB.working = function (bench, declared, values, steps) {
    /** @type {Record<string, string>} */
    const known = {};
    for (const { name } of declared.inputs) {
      if (typeof values[name] === "number") known[name] = worked(values[name], GIVEN);
    }
    const items = HB.all("[data-step]", bench);
    const close = new Set(); // the names of numbers whose difference needs more digits
    const numbers = { ...values };
    for (const { dataset } of items) {
      const names = (dataset.apart || "").split(" ");
      const [one, other] = names.map((/** @type {string} */ name) => numbers[name]);
      if (Math.abs(one - other) * CLOSE < Math.abs(one)) names.forEach(close.add, close);
      const value = steps[Number(dataset.step)];
      if (value !== undefined) numbers[dataset.name || ""] = value;
    }
    const told = new Set(); // what two lines look up is told once
    withoutConverted(bench);
    for (const item of items) {
      const { step, name } = item.dataset;
      const value = steps[Number(step)];
      item.hidden = typeof value !== "number";
      if (item.hidden) continue;
      const text = worked(value, close.has(name) ? GIVEN : FOUND);
      const shown = HB.one(".hb-step", item);
      const unit = shown.dataset.u;
      shown.textContent = `= ${unit ? `${text}\u00a0${unit}` : text}`;
      for (const said of HB.all(".hb-told, .hb-expr", item)) {
        if (said.className === "hb-told") putIn(said, known);
        else behind(said, known, text);
      }
      if (name) known[name] = text;
      item.hidden = told.has(item.textContent);
      told.add(item.textContent);
    }
    if (HB.prefersUS()) HB.workingInUS(bench, declared, values);
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
      const given = constant ? worked(Number(constant), FOUND) : known[node.getAttribute("data-n") || ""];
      if (given === undefined) {
        node.textContent = node.getAttribute("data-w") || node.textContent;
        continue;
      }
      const unit = node.getAttribute("data-u");
      const held = node.matches("msup > *") ? /[−×]/ : /^−/; // a power of ten is no power's whole base
      const number = held.test(given) ? `(${given})` : given;
      node.textContent = unit ? `${number}\u00a0${unit}` : number;
    }
  }

  /** @param {HTMLElement} bench */
  function withoutConverted(bench) {
    const converted = bench.querySelector(".hb-converted");
    if (converted) converted.remove();
  }

  HB.noWorking = function (bench) {
    withoutConverted(bench);
    for (const item of HB.all("[data-step]", bench)) item.hidden = true;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
