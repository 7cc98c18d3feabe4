/* A piece's file as text, read as Python reads it: its facts, what is taken where one is open, and what is wrong with
   it. And the runs by which figures and tables follow these facts. Knows no page, so that the tests run it beside
   Python. What the facts are stands in own-data.js. */

(function (HB) {
  "use strict";

  const own = HB.own;
  HB.addLists(own, Object.values(own.facts));

  const OTHER_THAN_LINES = "write sections of 'key: value' lines";

  /** @typedef {{line: number, key: string, told: string}} Told */

  /* What is taken for a word that is no value; undefined where the text is none of these words. */
  /** @param {HB.OwnFact} fact @param {string} text */
  const insteadOf = (fact, text) =>
    fact.instead.find(({ words }) => words.includes(text.split(/\s+/).filter(Boolean).join(" ")));

  /** @param {HB.OwnFact} fact @param {string} text @returns {{value: any, ends?: [number, number]}} */
  function readFact(fact, text) {
    const found = HB.readKnown(fact, text, "");
    const wrong = found.value === null ? "" : HB.wordsFault(fact, fact.pattern, text.trim());
    if (wrong) throw { message: wrong };
    return found;
  }

  /* The first line that is neither a comment nor 'key: value', which entriesOf only marks. */
  /** @param {string} text @param {Map<string, HB.Entry>} entries */
  function strangeLine(text, entries) {
    const known = new Set(Array.from(entries.values(), ({ line }) => line));
    const lines = text.split(/\r\n|\n|\r/);
    return lines.findIndex((line, i) => {
      const bare = line.replace(/^\ufeff/, "").trim();
      return bare && !bare.startsWith("#") && !known.has(i + 1);
    });
  }

  // Signs that a reader of YAML refuses or takes for the end of a line; a mark may stand before the text.
  const NOT_YAML = /(?!^\ufeff)(?![\t\r\n])[\p{Cc}\p{Cs}\p{Zl}\p{Zp}\ufeff\ufffe\uffff]/u;

  /* Where a reader of YAML stops and the lines above do not tell it, so that what is kept here is read everywhere. */
  /** @param {string} text @param {Map<string, HB.Entry>} entries @param {Told[]} faults */
  function notYaml(text, entries, faults) {
    const sign = text.search(NOT_YAML);
    if (sign >= 0) {
      const line = text.slice(0, sign).split(/\r\n|\n|\r/).length;
      faults.push({ line, key: "", told: "holds a sign that nobody sees; type the line anew without it" });
    }
    const blank = text.split(/\r\n|\n|\r/).findIndex((line) => /^\ufeff? *[^\S \ufeff]/.test(line));
    if (blank >= 0) {
      const told = "begins with a tab or a blank of another kind; begin it with plain blanks";
      faults.push({ line: blank + 1, key: "", told });
    }
    /** @type {Map<string, number>} */
    const indents = new Map([["", 0]]);
    for (const [key, { line, indent }] of entries) {
      const section = key.split(".").slice(0, -1).join(".");
      const first = indents.get(section);
      if (first === undefined) indents.set(section, indent);
      else if (first !== indent) {
        const told = `begins after ${indent} blanks; begin it after ${first}, as the others of its section`;
        faults.push({ line, key, told });
      }
    }
  }

  /** @param {string} text @param {Map<string, HB.Entry>} entries @param {Told[]} faults */
  function form(text, entries, faults) {
    notYaml(text, entries, faults);
    const strange = strangeLine(text, entries);
    if (strange >= 0) {
      faults.push({ line: strange + 1, key: "", told: `is not read here; ${OTHER_THAN_LINES}` });
    }
    for (const [key, entry] of entries) {
      const [section, name, ...deeper] = key.split(".");
      const holds = ["piece", "wanted"].includes(section);
      if (entry.odd || text[entry.from] === "[") {
        faults.push({
          line: entry.line,
          key,
          told: `is set twice, or written in a way that is not read here; ${OTHER_THAN_LINES}`,
        });
      } else if (!holds) {
        faults.push({
          line: entry.line,
          key,
          told: "is no section of a piece's file; allowed is piece, wanted",
        });
      } else if (name === undefined) {
        const empty = !Array.from(entries.keys()).some((one) => one.startsWith(`${key}.`));
        if (entry.value || empty) {
          faults.push({ line: entry.line, key, told: `is no section; ${OTHER_THAN_LINES}` });
        }
      } else if (deeper.length || !Object.hasOwn(own.facts, key)) {
        const names = Object.keys(own.facts).filter((one) => one.startsWith(`${section}.`));
        const allowed = names.map((one) => one.slice(section.length + 1)).join(", ");
        faults.push({ line: entry.line, key, told: `unknown key; allowed here is ${allowed}` });
      }
    }
  }

  HB.readPiece = function (text) {
    /** @type {Map<string, HB.OwnValue>} */
    const facts = new Map();
    /** @type {Told[]} */
    const faults = [];
    const told = () => ({
      facts,
      faults,
      number: String((facts.get("piece.number") || { value: "" }).value),
    });
    if (text.length > own.most) {
      const held = `holds ${text.length} signs; allowed is a piece's file of at most ${own.most}`;
      faults.push({ line: 1, key: "", told: held });
      return told();
    }
    const entries = HB.entriesOf(text);
    form(text, entries, faults);
    if (!entries.size && !faults.length) {
      faults.push({ line: 1, key: "", told: "holds no fact; write sections of 'key: value'" });
    }
    if (faults.length) return told();
    /** @type {Map<string, {line: number, costs: string}>} */
    const gaps = new Map();
    for (const [key, fact] of Object.entries(own.facts)) {
      const entry = entries.get(key);
      const line = entry ? entry.line : 1;
      const written = entry ? entry.value : "";
      const instead = insteadOf(fact, written);
      if (entry && !written.trim()) {
        faults.push({ line, key, told: `has no value; allowed is ${fact.allowed}` });
      } else if (!entry && !instead) {
        const ways = fact.instead.length ? `, or ${fact.instead[0].words[0]}` : "";
        faults.push({ line, key, told: `is missing (${fact.about}); allowed is ${fact.allowed}${ways}` });
      } else if (instead && !instead.taken) gaps.set(key, { line, costs: instead.costs });
      else {
        try {
          const found = readFact(fact, instead ? instead.taken : written);
          facts.set(key, {
            ...found,
            line,
            text: instead ? instead.taken : written,
            ...(instead ? { costs: instead.costs } : {}),
          });
        } catch (problem) {
          if (problem instanceof Error) throw problem;
          faults.push({ line, key, told: `${written.slice(0, 60)} ${problem.message}` });
        }
      }
    }
    if (!faults.length) derive(facts, gaps, faults);
    coatingOfHouse(facts, faults);
    if (!faults.length) together(facts, faults);
    return told();
  };

  /* ---- what follows where a fact is open ---- */

  /** @param {Map<string, HB.OwnValue>} facts @param {Map<string, {line: number, costs: string}>} gaps
      @param {Told[]} faults */
  function derive(facts, gaps, faults) {
    for (const each of own.derived) {
      const gap = gaps.get(each.fact);
      if (!gap) continue;
      const fact = own.facts[each.fact];
      try {
        const found = derivedFact(each, facts);
        for (const number of [...(found.ends || []), found.value]) {
          const wrong = HB.complaint(fact, number);
          if (wrong) throw { sentence: wrong };
        }
        const text = found.ends
          ? HB.showInterval(found.value, found.ends[0], found.ends[1], fact.unit || "1", 3)
          : HB.show(found.value, fact.unit || "1", 3);
        facts.set(each.fact, { ...found, line: gap.line, text, costs: gap.costs, computed: true });
      } catch (problem) {
        const why = problem.sentence || problem.bad;
        if (!why) throw problem;
        const told = `is left open, and what is computed for it ${why}`;
        faults.push({ line: gap.line, key: each.fact, told });
        return;
      }
    }
  }

  /** @param {HB.Derivation} each @param {Map<string, HB.OwnValue>} facts
      @returns {{value: number, ends?: [number, number]}} */
  function derivedFact(each, facts) {
    if (each.alike) {
      const like = /** @type {HB.OwnValue} */ (facts.get(each.alike));
      return like.ends ? { value: like.value, ends: like.ends } : { value: like.value };
    }
    if (Object.values(each.inputs).some((key) => !facts.has(key))) throw { sentence: each.needs };
    /** @type {Record<string, string>} */
    const inputs = { ...each.inputs };
    const known = own.sides.filter((key) => facts.has(key));
    each.slots.forEach((slot, i) => {
      if (known[i]) inputs[slot] = known[i];
    });
    const { values, spans } = inputsOf(each.calculation, inputs, facts);
    withHouse(each.calculation, values, spans);
    const results = HB.run(each.calculation, values);
    const { name } = HB.declared[each.calculation].results[0];
    const spread = Object.keys(spans).length ? HB.propagate(each.calculation, values, spans, results) : null;
    const interval = spread && spread.intervals[name];
    return interval && interval.low < interval.high
      ? { value: results[name], ends: [interval.low, interval.high] }
      : { value: results[name] };
  }

  /** @param {Map<string, HB.OwnValue>} facts @param {Told[]} faults */
  function coatingOfHouse(facts, faults) {
    const coating = facts.get("wanted.coating");
    if (!coating || ["none", ...own.coatings].includes(coating.value)) return;
    const told = `${coating.value} is no coating of this house; allowed is none, ${own.coatings.join(", ")}`;
    faults.push({ line: coating.line, key: "wanted.coating", told });
  }

  /* Facts that no piece can have together: most often a slip of units. The twin of piece.check_facts. */
  /** @param {Map<string, HB.OwnValue>} facts @param {Told[]} faults */
  function together(facts, faults) {
    const sides = ["piece.mass", ...own.sides];
    if (sides.some((key) => (facts.get(key) || { costs: "" }).costs !== undefined)) return;
    const inputs = {
      kind: "piece.kind",
      mass: sides[0],
      length: sides[1],
      width: sides[2],
      thickness: sides[3],
    };
    const { values, spans } = inputsOf("fill-factor", inputs, facts);
    withHouse("fill-factor", values, spans);
    try {
      HB.run("fill-factor", values);
    } catch (problem) {
      const why = problem.sentence || problem.bad;
      if (!why) throw problem;
      const thick = /** @type {HB.OwnValue} */ (facts.get("piece.thickness"));
      const told = `${thick.text} does not go with the rest: ${why}`;
      faults.push({ line: thick.line, key: "piece.thickness", told });
    }
  }

  /* ---- runs ---- */

  /** @param {string} calculation @param {string} name @returns {HB.Input} */
  function inputOf(calculation, name) {
    const found = HB.declared[calculation].inputs.find((input) => input.name === name);
    if (!found) throw new Error(`${calculation} has no input ${name}`);
    return found;
  }

  /* A fact in the unit of an input that follows it. */
  /** @param {HB.OwnValue} fact @param {string | undefined} from @param {string | undefined} to */
  function inUnit(fact, from, to) {
    const turned = (/** @type {any} */ number) =>
      typeof number === "number" && from && to ? HB.convert(number, from, to) : number;
    /** @type {{value: any, ends?: [number, number]}} */
    const found = { value: turned(fact.value) };
    if (fact.ends) found.ends = [turned(fact.ends[0]), turned(fact.ends[1])];
    return found;
  }

  HB.factFor = function (input, key, facts) {
    const fact = facts.get(key);
    return fact ? inUnit(fact, own.facts[key].unit, input.unit) : { value: null };
  };

  /* The values and spans of a run: facts by key, all else as the house has it. */
  /** @param {string} calculation @param {Record<string, any>} inputs @param {Map<string, HB.OwnValue>} facts */
  function inputsOf(calculation, inputs, facts) {
    /** @type {HB.Values} */
    const values = {};
    /** @type {HB.Spans} */
    const spans = {};
    for (const [name, from] of Object.entries(inputs)) {
      const found = Array.isArray(from)
        ? { value: from[0], ends: from.length > 2 ? [from[1], from[2]] : undefined }
        : HB.factFor(inputOf(calculation, name), from, facts);
      values[name] = found.value;
      if (found.ends) spans[name] = /** @type {[number, number]} */ (found.ends);
    }
    return { values, spans };
  }

  /** @param {string} calculation @param {HB.Values} values @param {HB.Spans} spans */
  function withHouse(calculation, values, spans) {
    for (const { name, house, end } of HB.declared[calculation].inputs) {
      if (!house || values[name] !== undefined) continue;
      const key = house.replace(/\{(\w+)\}/g, (all, argument) => values[argument]);
      values[name] = HB.house[key];
      if (HB.spans[key] && end) values[name] = HB.spans[key][end === "low" ? 0 : 1];
      else if (HB.spans[key]) spans[name] = HB.spans[key];
    }
  }

  /* A run of one calculation, or of a chain; a chain becomes a calculation of its own, whose inputs are the facts and
     the spanned house values behind it, so that its interval is propagated like any other. */
  HB.ownRun = function (program, facts) {
    const plain = "run" in program && Object.values(program.inputs).every((from) => isPlain(from));
    if (
      plain &&
      "run" in program &&
      program.times === undefined &&
      HB.declared[program.run].results.some(({ name }) => name === program.result)
    ) {
      const { values, spans } = inputsOf(program.run, program.inputs, facts);
      return answered(program.run, program.result, values, spans);
    }
    const { name, values, spans } = chained(program, facts);
    return answered(name, "value", values, spans);
  };

  /** @param {any} from */
  const isPlain = (from) => typeof from === "string" || Array.isArray(from);

  HB.answered = function (name, values) {
    /** @type {HB.Spans} */
    const spans = {};
    const all = { ...values };
    withHouse(name, all, spans);
    const results = HB.run(name, all);
    const spread = Object.keys(spans).length ? HB.propagate(name, all, spans, results) : null;
    return { values: all, results, spread };
  };

  /** @param {string} name @param {string} result @param {HB.Values} values @param {HB.Spans} spans
      @returns {HB.OwnAnswer} */
  function answered(name, result, values, spans) {
    const results = HB.run(name, values);
    const spread = Object.keys(spans).length ? HB.propagate(name, values, spans, results) : null;
    const declared = HB.declared[name].results.find((one) => one.name === result);
    if (!declared) throw new Error(`${name} has no result ${result}`);
    return { name, declared, values, results, spread, value: results[result] };
  }

  /** @param {HB.Program} program @param {Map<string, HB.OwnValue>} facts */
  function chained(program, facts) {
    /** @type {HB.Input[]} */
    const leaves = [];
    /** @type {HB.Values} */
    const values = {};
    /** @type {HB.Spans} */
    const spans = {};
    /** @param {HB.Input} declared @param {string} name @param {{value: any, ends?: [number, number]}} known */
    function leaf(declared, name, known) {
      if (!Object.hasOwn(values, name)) {
        leaves.push({ ...declared, name });
        values[name] = known.value;
        if (known.ends) spans[name] = known.ends;
      }
      return name;
    }
    /** @param {HB.Program} part @returns {(v: HB.Values) => any} */
    function worked(part) {
      if ("fact" in part) {
        const fact = own.facts[part.fact];
        const known = /** @type {HB.OwnValue} */ (facts.get(part.fact));
        const name = leaf(fact, part.fact, known);
        return (v) => v[name] * part.times;
      }
      /** @type {[string, (v: HB.Values) => any][]} */
      const inputs = Object.entries(part.inputs).map(([name, from]) => {
        const declared = inputOf(part.run, name);
        if (typeof from === "string") {
          const known = /** @type {HB.OwnValue} */ (facts.get(from));
          const fact = own.facts[from];
          const at = leaf(fact, from, known);
          return [name, (v) => inUnit({ ...known, value: v[at] }, fact.unit, declared.unit).value];
        }
        if (!Array.isArray(from)) return [name, worked(from)];
        if (from.length < 3) return [name, () => from[0]];
        const at = leaf(declared, from[3], { value: from[0], ends: [from[1], from[2]] });
        return [name, (v) => v[at]];
      });
      return (v) => {
        const found = HB.run(part.run, Object.fromEntries(inputs.map(([name, value]) => [name, value(v)])));
        return placed(found, part.result) * (part.times === undefined ? 1 : part.times);
      };
    }
    const kernel = worked(program);
    const name = `own: ${JSON.stringify(program)}`;
    HB.declared[name] = {
      title: "",
      inputs: leaves,
      results: [{ ...resultOf(program), name: "value" }],
      refusals: {},
    };
    HB.kernels[name] = (...each) => kernel(Object.fromEntries(leaves.map((one, i) => [one.name, each[i]])));
    return { name, values, spans };
  }

  /* A result by its name, or a cell of a listing: steps[1][3]. */
  /** @param {HB.Values} results @param {string} place */
  function placed(results, place) {
    const cell = /^(\w+)\[(\d+)\]\[(\d+)\]$/.exec(place);
    return cell ? results[cell[1]][Number(cell[2])][Number(cell[3])] : results[place];
  }

  /** @param {HB.Program} program @returns {HB.Result} */
  function resultOf(program) {
    if ("fact" in program) throw new Error("a fact is no run");
    const [name, , column] = program.result.split(/[[\]]+/);
    const found = HB.declared[program.run].results.find((one) => one.name === name);
    if (!found) throw new Error(`${program.run} has no result ${name}`);
    return column === undefined ? found : found.columns[Number(column)];
  }

  /* ---- what a plan reads ---- */

  HB.planInputs = function (facts) {
    /** @type {HB.Values} */
    const values = { ...HB.planValues };
    const others = HB.planSpans.filter(({ key }) => !/^(piece|wanted|coat)\./.test(key));
    const coating = own.coats[/** @type {HB.OwnValue} */ (facts.get("wanted.coating")).value] || {};
    /** @type {HB.PlanSpan[]} */
    const found = [];
    for (const key of Object.keys(values)) {
      if (key.startsWith("coat.")) values[key] = coating[key] === undefined ? null : coating[key][0];
      const fact = facts.get(key);
      if (!fact) continue;
      values[key] = fact.value;
      const { unit = "1", low, high } = own.facts[key];
      if (fact.ends) {
        const [from, to] = fact.ends;
        found.push({ key, value: fact.value, low: from, high: to, unit, least: low, most: high });
      }
    }
    const coats = HB.planCoats[String((facts.get("wanted.coating") || { value: "" }).value)] || [];
    const last = (/** @type {HB.PlanSpan} */ { key }) => (key.startsWith("work.") ? 1 : 0);
    const spans = [...others, ...coats, ...found].sort(
      (a, b) => last(a) - last(b) || (a.key < b.key ? -1 : a.key > b.key ? 1 : 0),
    );
    return { values, spans };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
