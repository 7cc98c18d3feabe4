/* A calculator of the page, made when it is first wanted: what was typed into it before, and its address. */

(function (HB) {
  "use strict";

  /** @type {Map<string, HB.Calculator>} */
  const calculators = new Map();

  HB.calculatorOf = function (box) {
    const known = calculators.get(box.id);
    if (known) return known;
    const calculator = HB.calculator(box);
    calculators.set(box.id, calculator);
    calculator.changed = changed;
    tools(calculator);
    const kept = HB.store.get(HB.typedName(box));
    if (kept && typeof kept === "object")
      HB.fillWith(calculator, (field) => keptSource(field, kept));
    calculator.kept = HB.typedSources(calculator);
    return calculator;
  };

  HB.isStarted = (box) => calculators.has(box.id);

  /* Only what has the form that was kept: another edition may have other fields. */
  /** @param {HB.Field} field @param {Record<string, any>} kept @returns {HB.Source | undefined} */
  function keptSource({ input, grid, start, units }, kept) {
    if (!Object.hasOwn(kept, input.name)) return undefined;
    const { text, unit, cells } = kept[input.name] || {};
    if (grid) return isGrid(cells, input.columns.length) ? { text: "", unit: "", cells } : undefined;
    const fits = unit === start.unit || units.includes(unit);
    return typeof text === "string" && fits ? { text, unit } : undefined;
  }

  /** @param {any} cells @param {number} wide */
  function isGrid(cells, wide) {
    const isRow = (/** @type {any} */ row) =>
      Array.isArray(row) && row.length === wide && row.every((cell) => typeof cell === "string");
    return Array.isArray(cells) && cells.every(isRow);
  }

  /** @param {HB.Calculator} calculator */
  function changed(calculator) {
    const typed = HB.typedSources(calculator);
    HB.store.merge(HB.typedName(calculator.box), calculator.kept, typed);
    calculator.kept = typed;
    toAddress(HB.address(calculator));
  }

  /** @param {string} hash */
  function toAddress(hash) {
    window.history.replaceState(null, "", window.location.pathname + window.location.search + hash);
  }

  /** @param {HB.Calculator} calculator */
  function tools(calculator) {
    const done = HB.make("span", { class: "hb-done", role: "status" });
    const row = HB.make("p", { class: "hb-tools" });
    row.append(
      HB.button("Copy as text", () => {
        done.textContent = HB.copy(HB.asText(calculator)) ? "copied" : "could not copy";
      }),
      HB.button("Start again", () => {
        HB.store.set(HB.typedName(calculator.box), undefined);
        calculator.kept = {};
        HB.fillWith(calculator, () => undefined);
        toAddress(`#${calculator.box.id}`);
        done.textContent = "";
      }),
      done,
    );
    HB.one(".hb-working", calculator.bench).before(row);
  }

  /* Opened by an address, which may fill it in. */
  HB.openAt = function (calculator, hash) {
    const { filled, texts } = HB.fromAddress(hash);
    calculator.box.open = true;
    if (filled) {
      HB.fillWith(calculator, (field) => {
        const text = texts.get(field.input.name);
        return text === undefined ? undefined : HB.sourceOf(field, text);
      });
    } else HB.compute(calculator);
    calculator.box.scrollIntoView();
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
