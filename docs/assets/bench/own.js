/* A page answers for the reader's own piece: figures in sentences, tables and calculators are computed anew from its
   facts. What cannot be computed for it says so, and shows nobody else's figure. */

(function (HB) {
  "use strict";

  const own = HB.own;

  /** @typedef {Map<string, HB.OwnValue>} Facts */

  /** @type {{facts: Facts, number: string} | null} */
  let chosen = null;
  /** @type {Map<string, HB.OwnAnswer | {refused: string}>} */
  const answers = new Map();

  /** @param {HB.Program} program @param {Facts} facts @returns {HB.OwnAnswer | {refused: string}} */
  function answer(program, facts) {
    const key = JSON.stringify(program);
    const known = answers.get(key);
    if (known) return known;
    /** @type {HB.OwnAnswer | {refused: string}} */
    let found;
    try {
      found = HB.ownRun(program, facts);
    } catch (problem) {
      const refused = problem.sentence || problem.bad;
      if (!refused) throw problem;
      found = { refused };
    }
    answers.set(key, found);
    return found;
  }

  /* In the unit a sentence reads best in; the twin of quantities.handy. */
  HB.handyUnit = function (number, unit) {
    const size = Math.abs(number);
    const found = own.handier.find(
      ([given, side, edge]) => given === unit && size > 0 && (side === "from" ? size >= edge : size < edge),
    );
    return found ? found[3] : unit;
  };

  /** @param {HB.OwnAnswer} found */
  function textOf({ name, declared, values, results, spread, value }) {
    const intervals = HB.seenIntervals(name, results, spread);
    const interval = intervals[declared.name];
    if (declared.kind !== "number" || value === null || value === undefined) {
      return HB.shownResult(declared, value, HB.given(name, values, results, intervals), interval, intervals);
    }
    const readers = HB.readersUnit(declared.unit);
    const unit = readers === declared.unit ? HB.handyUnit(value, declared.unit) : readers;
    return HB.shownIn(unit, declared, value, interval);
  }

  HB.answerText = textOf;

  /** @param {HB.OwnAnswer} found */
  function notesOf({ name, declared, results, spread, value }) {
    const notes = HB.notes(declared, value, HB.seenIntervals(name, results, spread), spread);
    return [...notes, HB.refusedShare(spread)].filter(Boolean);
  }

  /* A fact as people read it, in the reader's units. */
  /** @param {string} key @param {Facts} facts */
  function factText(key, facts) {
    const fact = facts.get(key);
    const declared = own.facts[key];
    if (!fact || fact.value === null) return "none";
    if (declared.form !== "quantity") return HB.shownValue(declared, fact.value);
    const unit = HB.readersUnit(declared.unit);
    const turned = (/** @type {number} */ number) => HB.convert(number, declared.unit, unit);
    if (fact.computed && fact.ends)
      return HB.showInterval(turned(fact.value), turned(fact.ends[0]), turned(fact.ends[1]), unit, 3);
    const text = HB.show(turned(fact.value), unit, unit === declared.unit ? 0 : 4);
    const ends = (fact.ends || []).map((end) => HB.readable(turned(end)));
    return ends.length ? `${text} (${ends.join(" to ")})` : text;
  }

  /* ---- figures in sentences ---- */

  /** @param {HTMLElement} node @param {Facts} facts @param {string} number */
  function figure(node, facts, number) {
    const asked = node.getAttribute("data-why") || "";
    const key = asked.replace(/^value /, "");
    const program = own.figures[asked];
    if (!program && !Object.hasOwn(own.facts, key)) return;
    for (const name of ["data-q", "data-scale", "data-l", "data-metric"]) node.removeAttribute(name);
    node.classList.add("hb-own");
    const found = program ? answer(program, facts) : null;
    const refused = found && "refused" in found;
    node.classList.toggle("hb-refused", Boolean(refused));
    if (!found) node.textContent = factText(key, facts);
    else node.textContent = "refused" in found ? `no figure here, refused: ${found.refused}` : textOf(found);
    const notes = found && !("refused" in found) ? notesOf(found) : [];
    const about =
      found && "run" in program ? HB.declared[program.run].title : own.facts[key] ? own.facts[key].about : "";
    node.title = [`For ${number}: ${about}`, ...notes].join("; ");
  }

  HB.ownWhy = function (asked) {
    const program = chosen && own.figures[asked];
    if (!chosen || !program || !("run" in program)) return null;
    const found = answer(program, chosen.facts);
    const { facts } = chosen;
    const inputs = Object.entries(program.inputs).map(([name, from]) => {
      const declared = HB.declared[program.run].inputs.find((input) => input.name === name);
      const about = declared ? declared.about : name;
      if (typeof from === "string") return [about, factText(from, facts), from];
      const text = declared && Array.isArray(from) ? HB.shownValue(declared, from[0]) : "";
      return [about, text, (declared && declared.house) || ""];
    });
    return {
      inputs: /** @type {[string, string, string][]} */ (inputs),
      notes: "refused" in found ? [] : notesOf(found),
      refused: "refused" in found ? found.refused : "",
    };
  };

  HB.ownText = (key) => (chosen && Object.hasOwn(own.facts, key) ? factText(key, chosen.facts) : undefined);

  /* ---- tables ---- */

  /** @param {HTMLElement} section @param {Facts} facts @param {string} number */
  function table(section, facts, number) {
    const declared =
      own.tables[section.id.replace(/^table-/, "").replace(/-\d+$/, "")] ||
      own.tables[section.id.replace(/^table-/, "")];
    if (!declared) return;
    section.classList.add("hb-own");
    if ("instead" in declared) setAside(section, declared.instead, number);
    else fill(section, declared, facts, number);
  }

  /* The rows of the example stay, folded and named; what answers for the piece is told in their place. */
  /** @param {HTMLElement} section @param {string[]} calculations @param {string} number */
  function setAside(section, calculations, number) {
    if (section.querySelector(":scope > .hb-set-aside")) return;
    const told = HB.make("p", { class: "hb-own-note" });
    told.append(
      `These rows follow the piece, and a page cannot make them anew for ${number}. Its plan has what comes of them: `,
      link("plan of your piece", "pieces/own.html"),
      "; one step at a time: ",
    );
    calculations.forEach((name, i) => {
      const { title } = HB.declared[name];
      told.append(i ? ", " : "", link(title, `${calculatorPage(name)}#calc-${name}`));
    });
    told.append(".");
    const box = HB.make("details", { class: "hb-set-aside" });
    box.append(HB.make("summary", {}, `The rows of the example, ${own.example}`));
    box.append(...Array.from(section.childNodes));
    section.append(told, box);
  }

  /** @param {string} name */
  const calculatorPage = (name) => `calculators/${own.pages[name] || "index"}.html`;

  /** @param {string} text @param {string} path */
  function link(text, path) {
    return HB.make("a", { href: HB.inSite(path) }, text);
  }

  /** @param {HTMLElement} section @param {{columns: [string, number][], cells: Record<string, HB.Program>}} declared
      @param {Facts} facts @param {string} number */
  function fill(section, declared, facts, number) {
    const rows = HB.all("tbody tr", section);
    /** @type {Set<string>} */
    const reasons = new Set();
    for (const [at, program] of Object.entries(declared.cells)) {
      const [row, column] = at.split(" ").map(Number);
      const cell = rows[row] && rows[row].children[column];
      if (!cell) continue;
      const found = answer(program, facts);
      const [unit, digits] = declared.columns[column];
      const readers = HB.readersUnit(unit);
      for (const name of ["data-q", "data-metric"]) cell.removeAttribute(name);
      cell.className = "refused" in found ? "hb-stop" : "n";
      if ("refused" in found) {
        cell.textContent = "refused";
        cell.title = found.refused;
        reasons.add(found.refused);
      } else cell.textContent = cellText(found, unit, readers, digits);
    }
    for (const example of HB.all(".hb-of-example", section)) example.textContent = `Worked for ${number}.`;
    for (const head of HB.all("th, caption", section))
      if (head.textContent.includes(own.example))
        head.textContent = head.textContent.replace(own.example, number);
    let list = section.querySelector(":scope > .hb-own-reasons");
    if (list) list.remove();
    list = HB.make("ul", { class: "hb-notes hb-own-reasons" });
    for (const reason of reasons) list.append(HB.make("li", {}, `Refused: ${reason}.`));
    const foot = section.querySelector(":scope > .hb-foot");
    if (!reasons.size) return;
    if (foot) foot.before(list);
    else section.append(list);
  }

  /** @param {HB.OwnAnswer} found @param {string} unit @param {string} readers @param {number} digits */
  function cellText({ value, spread, declared }, unit, readers, digits) {
    if (typeof value !== "number") return value === null || value === undefined ? "–" : String(value);
    const turned = (/** @type {number} */ number) =>
      unit === readers || unit === "text" ? number : HB.convert(number, unit, readers);
    const interval = spread && spread.intervals[declared.name];
    const plain = declared.kind === "whole" ? String(value) : HB.show(turned(value), "1", digits, declared.side);
    if (!interval || !interval.dominant.length) return plain;
    const ends = [interval.low, interval.high].map(turned);
    const [text, low, high] =
      declared.kind === "whole"
        ? HB.spread.whole_texts(value, interval.low, interval.high)
        : HB.spread.interval_texts(turned(value), ends[0], ends[1], digits || 7, declared.side || 0);
    return text === low && text === high ? plain : `${text} (${low} to ${high})`;
  }

  /* ---- calculators ---- */

  /** @type {HB.Log | null} */
  let log = null;

  /* What the piece's log gives a calculation, by input. */
  /** @param {string} name @param {Facts} facts @returns {HB.Values} */
  function fromLog(name, facts) {
    if (!chosen || !HB.hasLog(chosen.number)) return {};
    log = log || HB.readLog(HB.keptLog(chosen.number));
    return HB.loggedInputs(log, facts, HB.logNow(), name);
  }

  /* What an input starts from: a fact, or what another calculation answers for the piece. */
  /** @param {HB.Input} input @param {string | HB.Program} start @param {Facts} facts
      @returns {{value: any, ends?: [number, number]}} */
  function startOf(input, start, facts) {
    if (typeof start === "string") return HB.factFor(input, start, facts);
    const found = answer(start, facts);
    if ("refused" in found) return { value: null };
    const { value, declared, spread } = found;
    const turned = (/** @type {number} */ number) => HB.convert(number, declared.unit, input.unit);
    const interval = spread && spread.intervals[declared.name];
    return {
      value: turned(value),
      ends: interval ? [turned(interval.low), turned(interval.high)] : undefined,
    };
  }

  /* A figure that only the piece itself could tell stays the example's, and says so until another is typed. */
  /** @param {HB.Field} field */
  function ofExample(field) {
    field.example = HB.make("span", { class: "hb-example-figure" }, "the example's");
    field.help.before(field.example);
    HB.markField(field);
  }

  /* The facts of the piece among what a calculator started from. */
  /** @param {HTMLElement} said @param {Facts} facts @param {string} number */
  function ofPiece(said, facts, number) {
    const links = HB.all("a", said);
    said.replaceChildren(`Filled in of ${number}: `);
    links.forEach((/** @type {HTMLElement} */ link, i) => {
      said.append(i ? ", " : "", link, ` (${factText(link.textContent || "", facts)})`);
    });
    said.append(".");
  }

  /** @param {HTMLDetailsElement} box @param {Facts} facts */
  function calculator(box, facts) {
    const name = HB.one("[data-calculation]", box).getAttribute("data-calculation");
    const starts = own.starts[name] || {};
    const declared = HB.declared[name];
    const logged = fromLog(name, facts);
    const readings = declared.inputs.filter(
      ({ form, name: one }) => form === "rows" && HB.READINGS.includes(one),
    );
    if (!Object.keys(starts).length && !readings.length && !Object.keys(logged).length) return;
    const made = HB.calculatorOf(box);
    for (const field of made.fields.values()) {
      const { input, printed } = field;
      const start = starts[input.name];
      /** @type {HB.Source | null} */
      let source = null;
      const known = start ? startOf(input, start, facts) : null;
      if (input.name in logged && !(known && known.value === logged[input.name])) {
        source = HB.loggedSource(input, logged[input.name], printed.unit);
      } else if (known) {
        source = HB.ofHouse(input, known.value, printed.unit, known.ends);
      } else if (readings.includes(input)) {
        source = { text: "", unit: "", cells: [input.columns.map(() => "")] };
      }
      if (!source) {
        if (start === "") ofExample(field);
        continue;
      }
      const typed = HB.isTyped(field);
      field.printed = field.start = source;
      if (!typed) {
        field.source = source;
        HB.showField(field, HB.readersUnit(source.unit));
      } else HB.markField(field);
    }
    made.fresh = false;
    HB.compute(made);
  }

  /* ---- the page ---- */

  const SLICE = 30; // ms of work before the page may listen again

  /** @param {(() => void)[]} works */
  function inSlices(works) {
    const begun = performance.now();
    while (works.length && performance.now() - begun < SLICE) {
      try {
        /** @type {() => void} */ (works.shift())();
      } catch (problem) {
        console.error(problem);
      }
    }
    if (works.length) window.setTimeout(() => inSlices(works), 0);
    else {
      HB.all(".md-typeset").forEach(HB.textsInUS);
      document.documentElement.dataset.ownPiece = "ready";
    }
  }

  HB.answerFor = function (facts, number) {
    chosen = { facts, number };
    const figures = HB.all(".hb-value[data-why]").map((node) => () => figure(node, facts, number));
    const tables = HB.all(".hb-table").map((node) => () => table(node, facts, number));
    for (const said of HB.all(".hb-plot .hb-of-example"))
      said.textContent = `Its marks are those of the example, ${own.example}, and not of ${number}.`;
    const boxes = HB.all("details.hb-calc").map((node) => () => calculator(node, facts));
    const said = HB.all(".hb-of-chosen").map((node) => () => ofPiece(node, facts, number));
    inSlices([...figures, ...tables, ...boxes, ...said]);
  };

  document.addEventListener("hb-units", () => {
    if (!chosen) return;
    const { facts, number } = chosen;
    for (const node of HB.all(".hb-value.hb-own")) figure(node, facts, number);
    for (const node of HB.all(".hb-table.hb-own")) table(node, facts, number);
    for (const node of HB.all(".hb-of-chosen")) ofPiece(node, facts, number);
    HB.all(".md-typeset").forEach(HB.textsInUS);
  });
})((window.HB = window.HB || /** @type {any} */ ({})));
