/* From values to an answer: the checks and refusals that Python makes, in its words, around the generated
   formulas. Knows no page, so that the tests run it beside Python. */

(function (HB) {
  "use strict";

  /* Check the values of a calculation in order and run its formula; throws what Python would raise. */
  HB.guarded = function (name, values) {
    HB.declared[name].inputs.forEach((input, i) => {
      if (values[i] === null && input.optional) return;
      const text = HB.complaint(input, values[i]);
      if (text) {
        throw {
          bad: `${name}: ${input.name} = ${HB.shownValue(input, values[i])} ${text}: ${input.about}`,
          argument: input.name,
          text,
        };
      }
    });
    return computed(name, values);
  };

  /* The formula on values that are allowed. */
  /** @param {string} name @param {any[]} values */
  function computed(name, values) {
    const declared = HB.declared[name];
    try {
      return possible(name, HB.kernels[name](...values));
    } catch (problem) {
      if (problem.refused && !problem.sentence) {
        const given = toldInputs(name, values);
        problem.sentence = worded(declared.refusals[problem.refused], given, problem.numbers);
      }
      throw problem;
    }
  }

  /* What a formula gave, unless a result is more than can be true of any piece or bench. */
  /** @param {string} name @param {any} raw */
  function possible(name, raw) {
    const { results } = HB.declared[name];
    if (!finite(raw)) return raw; // refused as such where it is taken apart
    for (const result of results) {
      const value = results.length > 1 ? raw[result.name] : raw;
      if (value !== null && result.most !== undefined && value > result.most) {
        const shown = HB.show(value, result.unit, 0);
        throw { refused: "beyond", sentence: (result.beyond || "").replace("{value}", shown) };
      }
    }
    return raw;
  }

  /** @param {any} value @returns {boolean} */
  function finite(value) {
    if (typeof value === "number") return isFinite(value);
    if (value && typeof value === "object") return Object.values(value).every(finite);
    return value !== undefined;
  }

  /* Run a calculation on an object of values; returns its results by name. */
  HB.run = function (name, byName) {
    return byResult(name, HB.guarded(name, inOrder(name, byName)));
  };

  /* The same without the checks: for trials, whose values are kept inside what is allowed. */
  HB.runUnchecked = (name, byName) => byResult(name, computed(name, inOrder(name, byName)));

  /** @param {string} name @param {HB.Values} byName */
  function inOrder(name, byName) {
    return HB.declared[name].inputs.map((input) =>
      byName[input.name] === undefined ? null : byName[input.name],
    );
  }

  /** @param {string} name @param {any} raw @returns {HB.Values} */
  function byResult(name, raw) {
    const { results } = HB.declared[name];
    if (!finite(raw)) throw { refused: "no-result", sentence: HB.none };
    return results.length > 1 ? raw : { [results[0].name]: raw };
  }

  /* One result with one input changed, or null where that is refused: for a curve and for what-if. */
  HB.trial = function (name, values, over, x, result) {
    try {
      const y = HB.run(name, { ...values, [over]: x })[result];
      return typeof y === "number" ? y : null;
    } catch (problem) {
      if (!problem.sentence && !problem.bad) throw problem;
      return null;
    }
  };

  const PLACES = /\{(\w+)(?: ([^} ]+)(?: (up|down))?)?\}/g;

  /* The twin of `worded` in engine/calculation.py. What is rounded may be turned into a reader's unit first. */
  /** @param {string} sentence @param {Record<string, HB.Told>} given @param {any[]} numbers
      @param {(unit: string) => string} [unitFor] */
  function worded(sentence, given, numbers, unitFor) {
    let place = 0;
    const told = Array.from(sentence.matchAll(PLACES), ([, name, unit = "1", safe]) => {
      if (!/^\d+$/.test(name)) return given[name];
      const value = numbers[Number(name)];
      if (typeof value === "string") return value;
      return { value, unit, digits: Number.isInteger(value) ? 0 : 3, side: { up: 1, down: -1 }[safe] };
    });
    // A figure has so many digits that it differs in print from those of its unit from which it differs.
    return sentence.replace(PLACES, () => {
      const one = told[place++];
      if (typeof one === "string") return one;
      const { value, unit } = one;
      let { digits } = one;
      const to = unitFor && digits ? unitFor(unit) : unit;
      /** @param {HB.Figure} of */
      const shown = (of) => HB.show(HB.convert(of.value, unit, to), to, digits, of.side);
      /** @param {any} other */
      const alike = (other) =>
        other.unit === unit &&
        HB.asGiven(other.value) !== HB.asGiven(value) &&
        shown(other) === shown(one);
      while (digits && digits < 7 && told.some(alike)) digits++;
      return shown(one);
    });
  }

  /** @param {string} name @param {any[]} values @returns {Record<string, HB.Told>} */
  function toldInputs(name, values) {
    const told = HB.declared[name].inputs.map((input, i) => {
      const value = values[i];
      const figure = input.form === "quantity" && value !== null;
      return [input.name, figure ? { ...input, value, digits: 0 } : HB.shownValue(input, value)];
    });
    return Object.fromEntries(told);
  }

  HB.sentence = (result, value, given, unitFor) => worded((result.words || {})[value], given, [], unitFor);
  HB.sentences = (result, value, given, unitFor) =>
    value.map(
      /** @param {any[]} entry */
      ([code, ...numbers]) => worded((result.sentences || {})[code], given, numbers, unitFor),
    );

  HB.cellName = (listing, row, column) => `${listing}[${row}][${column}]`;

  /* A result as text in its declared unit, the words of Python's own. */
  HB.shownResult = function (result, value, given, interval, seen = {}) {
    if (value === null || value === undefined) return result.without || "none";
    switch (result.kind) {
      case "number":
        return HB.shownIn(result.unit, result, value, interval);
      case "whole": {
        if (!interval) return String(value);
        const [text, low, high] = HB.spread.whole_texts(value, interval.low, interval.high);
        return text === low && text === high ? text : `${text} (${low} to ${high})`;
      }
      case "reasons":
        return HB.sentences(result, value, given || {}).join(" ") || "none";
      case "listing":
        return (
          value
            .map((/** @type {any[]} */ row, /** @type {number} */ i) =>
              row
                .map((cell, j) => {
                  const own = seen[HB.cellName(result.name, i, j)];
                  return HB.shownResult(result.columns[j], cell, undefined, own);
                })
                .join(" "),
            )
            .join("; ") || "none"
        );
      default:
        return String(value);
    }
  };

  /* Inputs and results as sentences may name them; an input goes before a result of the same name. */
  HB.given = function (name, byName, results, intervals = {}) {
    const declared = HB.declared[name];
    /** @type {Record<string, HB.Told>} */
    const given = {};
    for (const result of declared.results) {
      const value = results[result.name];
      const interval = intervals[result.name];
      if (result.kind === "number" && value !== null && !interval && !result.metric)
        given[result.name] = { ...result, value };
      else if (!result.sentences && !result.columns)
        given[result.name] = HB.shownResult(result, value, undefined, interval);
    }
    return { ...given, ...toldInputs(name, inOrder(name, byName)) };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
