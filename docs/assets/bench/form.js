/* A calculator: fields to values to answer, and nothing else. */

(function (HB) {
  "use strict";

  // Rows of this name were read from one piece, and belong to no other.
  HB.READINGS = ["readings", "weighings"];

  HB.calculator = function (box) {
    const bench = HB.one("[data-calculation]", box);
    const name = bench.getAttribute("data-calculation");
    const declared = name && Object.hasOwn(HB.declared, name) && HB.declared[name];
    if (!name || !declared) throw new Error(`calculator '${name}' is not declared`);
    /** @type {HB.Calculator} */
    const calculator = { fresh: true, box, bench, name, declared, fields: new Map(), kept: {}, changed: () => {} };
    for (const input of declared.inputs) calculator.fields.set(input.name, HB.field(bench, input));
    // A select tells of one choice twice, and some browsers only once: what has changed nothing is passed over.
    for (const kind of ["input", "change"]) {
      bench.addEventListener(kind, (/** @type {Event} */ event) => {
        const target = /** @type {HTMLElement} */ (event.target);
        const hit = fieldOf(calculator, target);
        if (!hit) return;
        HB.safely(calculator, () => {
          if (target !== hit.menu) hit.touched = true; // also by the figure that stood there before
          if (HB.stateOf(hit) !== hit.seen) edited(calculator, hit, target);
          if (kind === "change" && target === hit.control) unitToMenu(calculator, hit);
        });
      });
    }
    for (const control of HB.all(":is(input, select):disabled", bench)) control.disabled = false;
    return calculator;
  };

  /* Where the work on a calculator breaks off, no answer stays that is not for what stands in its fields. */
  HB.safely = function (calculator, work) {
    try {
      return work();
    } catch (problem) {
      console.error(problem);
      window.clearTimeout(calculator.later);
      HB.one(".hb-answer", calculator.bench).removeAttribute("aria-busy");
      say(calculator, "This could not be worked, by a fault of the page. Start again.", "hb-waiting");
      return null;
    }
  };

  /** @param {HB.Calculator} calculator @param {() => void} work @param {number} [wait] ms */
  function later(calculator, work, wait) {
    calculator.later = window.setTimeout(() => HB.safely(calculator, work), wait);
  }

  /* ---- edits ---- */

  /** @param {HB.Calculator} calculator @param {HTMLElement} target */
  function fieldOf(calculator, target) {
    const box = target.closest(".hb-field");
    const control = box && box.querySelector("[data-argument]");
    return control && calculator.fields.get(control.getAttribute("data-argument") || "");
  }

  /** @param {HB.Calculator} calculator @param {HB.Field} field @param {HTMLElement} target */
  function edited(calculator, field, target) {
    if (target === field.menu) HB.showField(field, field.menu.value);
    else {
      const { control, grid, menu, start } = field;
      field.source = { text: grid ? "" : control.value, unit: menu ? menu.value : start.unit };
      if (grid) field.source.cells = grid.cells();
      if (field.input.family) followFamily(calculator, field.input.name, control.value);
      if (control.options)
        HB.showField(field, ""); // another name turns into the one that it stands for
      else HB.markField(field);
    }
    HB.compute(calculator);
    calculator.changed(calculator);
  }

  /* 70 F typed beside a menu of units is 70, and the menu says °F; a unit that the menu lacks stays. */
  /** @param {HB.Calculator} calculator @param {HB.Field} field */
  function unitToMenu(calculator, field) {
    const { input, menu, source } = field;
    const parts = menu && source.text === field.control.value && HB.parts(input, source.text);
    if (!menu || !parts || !field.units.includes(parts.unit)) return;
    field.source = { text: parts.number, unit: parts.unit };
    HB.showField(field, parts.unit);
    calculator.changed(calculator);
  }

  /* Another entry of the house's list brings its own values, where the reader has not typed others. */
  /** @param {HB.Calculator} calculator @param {string} argument @param {string} entry */
  function followFamily(calculator, argument, entry) {
    const mark = `{${argument}}`;
    for (const field of calculator.fields.values()) {
      const { input, menu, start } = field;
      if (!input.house || !input.house.includes(mark) || field.touched) continue;
      const key = input.house.replace(mark, entry);
      if (!Object.hasOwn(HB.house, key)) continue; // no entry of the list brings nothing
      field.start = HB.ofHouse(input, HB.house[key], start.unit, HB.spans[key]);
      field.source = field.start;
      HB.showField(field, menu ? menu.value : "");
    }
  }

  /* ---- what was typed, to keep and to bring back ---- */

  HB.typedSources = function (calculator) {
    /** @type {Record<string, HB.Source>} */
    const typed = {};
    for (const [name, field] of calculator.fields) {
      const { source, grid } = field;
      if (HB.isTyped(field)) typed[name] = grid ? { ...source, cells: grid.cells() } : source; // in whole rows
    }
    return typed;
  };

  /* Put the page's values back, and over them what is to be filled in. A choice from the house's list goes
     first, because it brings its own values to start from. */
  HB.fillWith = (calculator, sourceFor) =>
    HB.safely(calculator, () => {
      putBack(calculator, sourceFor);
      worked(calculator);
    });

  /** @param {HB.Calculator} calculator @param {(field: HB.Field) => HB.Source | undefined} sourceFor */
  function putBack(calculator, sourceFor) {
    const fields = Array.from(calculator.fields.values());
    calculator.halfFilled = true;
    for (const field of fields) {
      field.source = field.start = field.printed;
      field.touched = false;
    }
    for (const field of fields.filter(({ input }) => input.family)) {
      const source = sourceFor(field);
      if (source && !HB.sameSource(source, field.start))
        followFamily(calculator, field.input.name, source.text);
    }
    for (const field of fields) {
      const source = sourceFor(field);
      field.source = source && !HB.sameSource(source, field.start) ? source : field.start;
      field.touched = HB.isTyped(field);
      HB.showField(field, source ? field.source.unit : HB.readersUnit(field.start.unit));
    }
    calculator.halfFilled = false;
  }

  HB.inReadersUnits = function (calculator) {
    HB.safely(calculator, () => {
      for (const field of calculator.fields.values()) {
        if (field.menu || field.grid) HB.showField(field, HB.readersUnit(field.input.unit));
      }
      HB.compute(calculator);
    });
  };

  /* ---- values and answer ---- */

  /** @param {HB.Calculator} calculator @returns {{values: HB.Values, spans: HB.Spans} | null} */
  function read(calculator) {
    /** @type {HB.Values} */
    const values = {};
    /** @type {HB.Spans} */
    const spans = {};
    let right = true;
    for (const [name, field] of calculator.fields) {
      const message = field.grid ? readGrid(field, values) : readField(field, values, spans);
      if (message) right = false;
      if (field.error.textContent !== message) field.error.textContent = message;
      if (!field.grid) field.control.setAttribute("aria-invalid", String(Boolean(message)));
    }
    return right ? { values, spans } : null;
  }

  /** @param {HB.Field} field @param {HB.Values} values @param {HB.Spans} spans */
  function readField(field, values, spans) {
    try {
      const { value, ends } = HB.knownOf(field);
      const { control, source } = field;
      if (control.options && control.value !== source.text) throw { message: "is none of the choices" };
      values[field.input.name] = value;
      if (ends) spans[field.input.name] = ends;
      return "";
    } catch (problem) {
      if (problem instanceof Error) throw problem;
      const { input, menu, control, source } = field;
      const typed = (control.options ? source.text : control.value).trim(); // a menu cannot show what is none of it
      const allowed = menu ? HB.allowedIn(input, menu.value) : input.allowed;
      if (typed === "") return `is missing; allowed is ${allowed}`;
      const parts = menu && HB.parts(input, typed);
      const unit = menu && parts && !parts.unit ? ` ${HB.label(menu.value)}` : ""; // behind a bare number alone
      return `${typed.slice(0, 40)}${unit} ${problem.message.replace(input.allowed, allowed)}`;
    }
  }

  /** @param {HB.Field} field @param {Record<string, any>} values */
  function readGrid({ input, grid, source }, values) {
    const found = HB.readRows(input, source.cells || []);
    if (grid) grid.mark(found.faults);
    values[input.name] = found.values;
    return HB.prefersUS() ? HB.faultInUS(found.message) : found.message;
  }

  HB.compute = (calculator) => HB.safely(calculator, () => worked(calculator));

  /** @param {HB.Calculator} calculator */
  function worked(calculator) {
    if (calculator.halfFilled) throw new Error("half filled in");
    const { name, declared, bench, box } = calculator;
    HB.one(".hb-changed", box).hidden = !Object.keys(HB.typedSources(calculator)).length;
    window.clearTimeout(calculator.later);
    HB.one(".hb-answer", bench).removeAttribute("aria-busy");
    const found = read(calculator);
    if (!found) {
      say(calculator, "Mend the marked field first.", "hb-waiting");
      return null;
    }
    const { values, spans } = found;
    const mixed = exampleRows(calculator);
    if (mixed) {
      say(calculator, mixed, "hb-waiting");
      return null;
    }
    let results;
    /** @type {number[]} */
    const steps = (HB.steps = []);
    try {
      results = HB.run(name, values);
    } catch (problem) {
      if (!problem.sentence && !problem.bad) throw problem;
      say(calculator, problem.sentence || problem.bad, "hb-refused");
      return null;
    } finally {
      HB.steps = null;
    }
    // What the page was printed with stands until its interval is there again.
    const asPrinted = calculator.fresh && !Object.keys(HB.typedSources(calculator)).length && !HB.prefersUS();
    if (!(asPrinted && Object.keys(spans).length)) tell(calculator, values, results, null);
    calculator.fresh = false;
    HB.working(bench, declared, values, steps);
    drawCurve(calculator, values, null);
    // First the answer; what it may really be takes hundreds of runs and comes after the next frame.
    if (Object.keys(spans).length) {
      HB.one(".hb-answer", bench).setAttribute("aria-busy", "true");
      later(calculator, () => tellSpread(calculator, values, spans, results), AFTER_A_FRAME);
    }
    return { values, results };
  }

  /* Rows that were read from the example say nothing of a piece whose measures a reader typed. */
  /** @param {HB.Calculator} calculator */
  function exampleRows({ fields }) {
    const all = Array.from(fields.values());
    const own = all.find((field) => field.input.follows && HB.isTyped(field));
    const rows = all.find(
      ({ input, source, start }) =>
        HB.READINGS.includes(input.name) &&
        source === start &&
        !start.logged &&
        (start.cells || []).flat().some(Boolean),
    );
    if (!own || !rows) return "";
    const typed = own.input.name.replace(/_/g, " ");
    return `The ${typed} is yours, and the ${rows.input.name} are still the example's: put your own in their place.`;
  }

  const AFTER_A_FRAME = 17; // ms
  const SLICE = 40; // ms of work before the page may listen again
  const BAND_UP_TO = 60; // ms of work for one interval; a band takes seventeen

  /** @param {HB.Calculator} calculator @param {HB.Values} values @param {HB.Spans} spans @param {HB.Values} results */
  function tellSpread(calculator, values, spans, results) {
    const work = HB.propagation(calculator.name, values, spans, results);
    let took = 0;
    function slice() {
      const begun = performance.now();
      let step = work.next();
      while (!step.done && performance.now() - begun < SLICE) step = work.next();
      took += performance.now() - begun;
      if (!step.done) {
        later(calculator, slice);
        return;
      }
      tell(calculator, values, results, step.value);
      HB.one(".hb-answer", calculator.bench).removeAttribute("aria-busy");
      if (took < BAND_UP_TO) later(calculator, () => drawCurve(calculator, values, spans));
    }
    slice();
  }

  /** @param {HB.Calculator} calculator @param {string} text @param {string} kind */
  function say({ bench, box }, text, kind) {
    const answer = HB.one(".hb-answer", bench);
    answer.className = `hb-answer ${kind}`;
    let said = answer.querySelector(".hb-said");
    if (!said) {
      said = HB.make("p", { class: "hb-said" });
      answer.prepend(said);
    }
    if (said.textContent !== text) said.textContent = text;
    for (const node of HB.all("dd", answer)) node.textContent = "–";
    sayShare(answer, "");
    HB.one(".hb-calc-short", box).textContent = kind === "hb-refused" ? "refused" : "–";
    HB.textsInUS(answer);
    HB.noWorking(bench);
    drawCurve({ bench }, null, null);
  }

  /** @param {HTMLElement} answer @param {string} text */
  function sayShare(answer, text) {
    const said = answer.querySelector(":scope > .hb-spread");
    if (said) said.remove();
    if (text) answer.append(HB.make("p", { class: "hb-spread" }, text));
  }

  /** @param {HB.Result} result @param {any} value @param {Record<string, HB.Told>} given
      @param {Record<string, HB.Interval>} intervals */
  function inReadersUnit(result, value, given, intervals) {
    const interval = intervals[result.name];
    if (result.kind === "listing" && value) {
      const [declared, rows, seen] = inReadersColumns(result, value, intervals);
      return HB.shownResult(declared, rows, given, undefined, seen);
    }
    if (result.kind !== "number" || value === null || value === undefined) {
      return HB.shownResult(result, value, given, interval, intervals);
    }
    return HB.shownIn(HB.resultsUnit(result), result, value, interval);
  }

  /** @param {HB.Calculator} calculator @param {HB.Values} values @param {HB.Values} results @param {HB.Spread | null} spread */
  function tell({ name, declared, bench, box }, values, results, spread) {
    const intervals = HB.seenIntervals(name, results, spread);
    const given = HB.given(name, values, results, intervals);
    const answer = HB.one(".hb-answer", bench);
    answer.className = "hb-answer";
    const said = answer.querySelector(".hb-said");
    if (said) said.remove();
    for (const result of declared.results) {
      const value = results[result.name];
      const cell = HB.one(`[data-result="${result.name}"] dd`, answer);
      if (result.kind === "listing" && value) cell.replaceChildren(listing(result, value, intervals));
      else if (result.kind === "reasons" && value.length) {
        cell.replaceChildren(...HB.sentences(result, value, given, HB.readersUnit).map((line) => HB.make("p", {}, line)));
      } else if (result.words && value !== null) {
        cell.replaceChildren(HB.make("strong", {}, value), `: ${HB.sentence(result, value, given, HB.readersUnit)}`);
      } else cell.textContent = inReadersUnit(result, value, given, intervals);
      for (const note of HB.notes(result, value, intervals, spread)) {
        cell.append(HB.make("span", { class: "hb-spread" }, note));
      }
    }
    sayShare(answer, HB.refusedShare(spread));
    HB.textsInUS(answer);
    const main = declared.results[0];
    HB.one(".hb-calc-short", box).textContent = inReadersUnit(main, results[main.name], given, intervals);
  }

  /** @param {HB.Result} result @param {any[][]} rows @param {Record<string, HB.Interval>} intervals */
  function listing(result, rows, intervals) {
    const [{ columns }, shown, seen] = inReadersColumns(result, rows, intervals);
    const table = HB.make("table", { class: "hb-listing" });
    const head = table.createTHead().insertRow();
    for (const { about, unit } of columns) head.append(HB.make("th", { scope: "col" }, `${about} ${HB.label(unit)}`));
    const body = table.createTBody();
    shown.forEach((row, i) => {
      const line = body.insertRow();
      row.forEach((cell, j) => {
        const bare = { ...columns[j], unit: "1" }; // its unit stands in the heading
        const interval = seen[HB.cellName(result.name, i, j)];
        line.insertCell().textContent = HB.shownResult(bare, cell, undefined, interval);
      });
    });
    return table;
  }

  /** A listing with the rows and their intervals as a reader wants them.
   * @param {HB.Result} result @param {any[][]} rows @param {Record<string, HB.Interval>} intervals
   * @returns {[HB.Result, any[][], Record<string, HB.Interval>]} */
  function inReadersColumns(result, rows, intervals) {
    return HB.prefersUS() ? HB.listingInUS(result, rows, intervals) : [result, rows, intervals];
  }

  /** @param {{bench: HTMLElement, name?: string}} calculator @param {HB.Values | null} values @param {HB.Spans | null} spans */
  function drawCurve({ bench, name }, values, spans) {
    const over = bench.getAttribute("data-curve");
    if (!over) return;
    let figure = bench.querySelector(".hb-curve");
    if (!figure) {
      figure = HB.make("figure", { class: "hb-curve" });
      HB.one(".hb-working", bench).before(figure);
    }
    const limit = bench.getAttribute("data-limit");
    const drawn = values && name ? HB.curve(name, values, over, spans, limit) : null;
    figure.replaceChildren(...(drawn ? [drawn] : []));
    HB.textsInUS(figure);
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
