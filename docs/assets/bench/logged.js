/* The log of the reader's own piece: kept as the text of its file, read by HB.log as Python reads it, and what follows
   from it. The twin of engine/logbook.py. Touches no page, so that the tests run it beside Python. */

(function (HB) {
  "use strict";

  const DAY = 24;
  const BATHS = "electrolysis"; // the step whose end the readings of the baths foretell
  const BEGIN = Date.UTC(2000, 0, 1); // hours of a log are counted from here
  const HOUR = 3_600_000; // ms
  const LARGEST = 2_000_000; // signs of a file
  const MARK = "\ufeff"; // some programs put it before a text
  // Between cells and lines some of these may stand, and inside the words of some scripts.
  const UNSEEN = /(?![\t\r\n\u200c\u200d])[\p{Cc}\p{Cf}\p{Cs}\p{Co}\p{Cn}\p{Zl}\p{Zp}]/u;
  const KEPT_DIGITS = 6; // of a reading that a calculator starts from

  const NAMES = Object.keys(HB.logColumns);

  /* ---- the text of the file ---- */

  /** @param {string} text @returns {[line: number, column: string, told: string] | null} */
  function hidden(text) {
    const at = text.search(UNSEEN);
    if (at < 0) return null;
    const code = /** @type {number} */ (text.codePointAt(at)).toString(16).toUpperCase().padStart(4, "0");
    const before = text.slice(0, at).split("\n");
    return [before.length, "", `holds the sign U+${code}, which nobody sees; type the line anew without it`];
  }

  HB.readLog = function (written) {
    const text = written.startsWith(MARK) ? written.slice(1) : written;
    /** @type {(told: [number, string, string]) => HB.Log} */
    const refused = (told) => ({ faults: [told], entries: [], standing: [], lines: [], rows: [] });
    if (text.length > LARGEST)
      return refused([1, "", "holds more than two million signs, which no log does"]);
    const unseen = hidden(text);
    if (unseen) return refused(unseen);
    const { fault, lines, rows } = HB.log.cells_of(text);
    if (fault) return refused([fault[0], "", fault[1]]);
    const { faults, entries } = HB.log.read_log(lines, rows);
    return { faults, entries: faults.length ? [] : entries, standing: HB.log.standing(entries), lines, rows };
  };

  /** @param {string} number */
  const keptName = (number) => `log/${number}`;

  HB.keptLog = function (number) {
    const text = HB.store.get(keptName(number));
    return typeof text === "string" ? text : "";
  };

  HB.keepLog = (number, text) => HB.store.set(keptName(number), text || undefined);

  HB.onLog = (number, listener) => HB.store.subscribe(keptName(number), listener);

  /* ---- new rows ---- */

  const heading = () => `${HB.log.heading_line()}\n`;

  /** @param {Record<string, string>} cells */
  const line = (cells) => HB.log.row_text(...NAMES.map((name) => cells[name] || ""));

  /** @param {string[]} row */
  const isBlank = (row) => row.every((cell) => !cell.trim());

  /* The cells of rows under the columns of a log; what a row has beyond its heading stays behind them, to be told. */
  /** @param {string[]} head @param {string[][]} rows */
  function placed(head, rows) {
    const places = head.map((name) => name.trim());
    return rows.map((row) => {
      const cells = NAMES.map((name) => row[places.indexOf(name)] || "");
      return row.length > head.length ? [...cells, ...row.slice(head.length)] : cells;
    });
  }

  /* A file that a spreadsheet saved may have its columns elsewhere: its rows then stand below the usual heading, each
     cell as it was. */
  /** @param {string} text */
  function underHeading(text) {
    if (!text) return heading();
    const { rows } = HB.readLog(text);
    const plain = text.startsWith(MARK) ? text.slice(1) : text;
    if (plain.split(/[\r\n]/)[0] === HB.log.heading_line()) return /[\r\n]$/.test(plain) ? text : `${text}\n`;
    const [head, ...others] = rows.filter((row) => !isBlank(row));
    if (!head) return heading();
    const lines = placed(head, others).map((cells) => HB.log.row_text(...cells.map(unguarded)));
    return heading() + lines.join("");
  }

  /** @param {string} cell */
  const unguarded = (cell) => (/^'[=+\-@\t']/.test(cell.trim()) ? cell.trim().slice(1) : cell.trim());

  HB.withRows = function (text, pasted, edition) {
    const { fault, lines, rows } = HB.log.cells_of(pasted);
    const refused = (/** @type {[number, string, string][]} */ faults) => ({ text, faults, added: 0 });
    const unseen = hidden(pasted);
    if (unseen) return refused([unseen]);
    if (fault) return refused([[fault[0], "", fault[1]]]);
    const first = rows.findIndex((row) => !isBlank(row));
    if (first < 0) return refused([[1, "", "holds no row"]]);
    const { head, from, wrong } = headOf(rows[first], lines[first], first);
    if (wrong.length) return refused(wrong);
    const before = HB.readLog(text);
    let next = HB.log.next_row(before.entries);
    const kept = text ? before.rows : [];
    const [keptHead, ...keptRows] = kept.filter((row) => !isBlank(row));
    const fresh = placed(head, rows.slice(from)).map((cells) => {
      if (isBlank(cells)) return cells;
      const [row, when, what, value, by, note, read, ...others] = cells;
      const number = row.trim() || String(next);
      next = Math.max(next, Number(number) + 1 || next);
      return [number, when, what, value, by, note, read.trim() || edition, ...others];
    });
    const all = [NAMES, ...(keptHead ? placed(keptHead, keptRows) : []), ...fresh];
    const places = [0, ...keptRows.map(() => 0), ...lines.slice(from)];
    const { faults } = HB.log.read_log(places, all);
    if (faults.length) return refused(faults);
    const written = fresh.filter((cells) => !isBlank(cells));
    if (!written.length) return refused([[lines[first], "", "is a heading with no row below it"]]);
    const added = written.map((cells) => HB.log.row_text(...cells.map(unguarded))).join("");
    return { text: underHeading(text) + added, faults: [], added: written.length };
  };

  /* The columns of pasted rows: by their heading, or by what the first of them begins with. */
  /** @param {string[]} row @param {number} line @param {number} first
      @returns {{head: string[], from: number, wrong: [number, string, string][]}} */
  function headOf(row, line, first) {
    const isDay = (/** @type {string | undefined} */ cell) => HB.log.hours_of(cell || "")[0] === "hours";
    if (row.some(isDay) || !row.some((cell) => NAMES.includes(cell.trim()))) {
      const head = isDay(row[0]) ? NAMES.slice(1, 6) : NAMES;
      return { head, from: first, wrong: [] };
    }
    const filled = ["row", "edition"].filter((name) => !row.some((cell) => cell.trim() === name));
    const { faults } = HB.log.read_log([line], [[...row, ...filled]]);
    return { head: row, from: first + 1, wrong: faults };
  }

  HB.addedRow = function (text, cells) {
    const { entries } = HB.readLog(text);
    const row = { row: String(HB.log.next_row(entries)), ...cells };
    const found = HB.withRows(text, heading() + line(row), cells.edition || "");
    return { ...found, row: Number(row.row) };
  };

  /* What an opened file lacks of the log that is kept: rows by number. */
  HB.lostRows = function (text, opened) {
    const found = new Map(opened.map((entry) => [entry.row, told(entry)]));
    const { faults, entries } = HB.readLog(text);
    if (text && faults.length) return [0];
    return entries.filter((entry) => found.get(entry.row) !== told(entry)).map(({ row }) => row);
  };

  /** @param {HB.LogEntry} entry */
  const told = ({ line: _, ...others }) => JSON.stringify(others);

  /* ---- times ---- */

  /* Hours of a log on the device's own clock. */
  HB.logNow = function () {
    const now = new Date();
    const clock = Date.UTC(
      now.getFullYear(),
      now.getMonth(),
      now.getDate(),
      now.getHours(),
      now.getMinutes(),
    );
    return (clock - BEGIN) / HOUR;
  };

  HB.logTime = function (hours) {
    const date = new Date(BEGIN + Math.round(hours * 60) * 60_000);
    return Number.isNaN(date.getTime()) ? "" : date.toISOString().slice(0, 16).replace("T", " ");
  };

  /* ---- what it says ---- */

  /** @param {Map<string, HB.OwnValue>} facts */
  function valuesOf(facts) {
    /** @type {HB.Values} */
    const v = { ...HB.logValues };
    for (const [key, fact] of facts) if (Object.hasOwn(v, key)) v[key] = fact.value;
    return v;
  }

  /** @param {Record<string, string>} sentences @param {any[]} code */
  function said(sentences, code) {
    const asked = /** @type {HB.Result} */ (/** @type {unknown} */ ({ sentences }));
    return HB.sentences(asked, [code], {})[0];
  }

  HB.logFinds = function (log, facts, now) {
    const wrong = HB.log.impossible(log.entries);
    const found = HB.log.findings(log.standing, wrong, valuesOf(facts), now);
    return found.map((/** @type {any[]} */ code) => said(HB.logFindings, code));
  };

  HB.logSays = function (log, facts, now) {
    const v = valuesOf(facts);
    return HB.logAsks.map(({ name, title, lacks }) => {
      try {
        const [code, inputs] = HB.log.asks[name](log.standing, v, now);
        if (code) return { name, title, lacks: said(lacks, code) };
        const given = Object.entries(inputs).filter(([, value]) => value !== null);
        return { name, title, answer: HB.answered(name, Object.fromEntries(given)) };
      } catch (problem) {
        const refused = problem.sentence || problem.bad;
        if (!refused) throw problem;
        return { name, title, refused };
      }
    });
  };

  /* By input, what a calculator starts from; nothing where the log does not hold enough. */
  HB.loggedInputs = function (log, facts, now, name) {
    const ask = HB.log.asks[name];
    if (!ask) return {};
    try {
      const [code, inputs] = ask(log.standing, valuesOf(facts), now);
      return code ? {} : Object.fromEntries(Object.entries(inputs).filter(([, value]) => value !== null));
    } catch (problem) {
      if (!problem.sentence && !problem.bad && !problem.refused) throw problem;
      return {};
    }
  };

  /** @param {any} cell */
  function cellOf(cell) {
    if (typeof cell !== "number") return cell === null ? "" : String(cell);
    const text = String(Number(Math.abs(cell).toPrecision(KEPT_DIGITS)));
    return cell < 0 ? `< ${text}` : text;
  }

  HB.loggedSource = function (input, value, unit) {
    if (input.form !== "rows") return HB.ofHouse(input, value, unit);
    return {
      text: "",
      unit: "",
      cells: value.map((/** @type {any[]} */ row) => row.map(cellOf)),
      logged: true,
    };
  };

  /* ---- the plan that goes on ---- */

  /** @param {HB.Log} log @param {HB.Said[]} says @param {number} zero */
  function foretold(log, says, zero) {
    const end = says.find(({ name }) => name === "stop-forecast");
    const read = log.standing.filter(({ what }) => what === "chloride");
    if (!end?.answer || !read.length) return null;
    return read[read.length - 1].at - zero + DAY * end.answer.results.days_to_go;
  }

  HB.continuedPlan = function (plan, log, says, start, now) {
    if (!log.standing.length) return { ...plan, start, states: {} };
    const begins = start || HB.logTime(log.standing[0].at).slice(0, 10);
    const zero = HB.log.hours_of(begins)[1] - DAY / 2; // a day alone counts as its noon
    const beside = Object.fromEntries(HB.planSteps.map((step) => [step.id, step.beside]));
    const chain = plan.steps.filter((step) => step.applies && step.begin !== null && !beside[step.id]);
    const planned = chain.map(({ begin, end, takes }) => [
      begin,
      end,
      DAY * Math.max(takes.high, takes.value),
    ]);
    const ids = chain.map(({ id }) => id);
    const marked = HB.log
      .marks(log.standing, ids)
      .map((pair) => pair.map((at) => (at === null ? null : at - zero)));
    const ends = ids.map((id) => (id === BATHS ? foretold(log, says, zero) : null));
    const found = HB.log.states(planned, marked, ends, now - zero);
    const moved = new Map(ids.map((id, i) => [id, found[i]]));
    /** @type {Record<string, HB.StepState>} */
    const states = {};
    for (const [id, [word, , , due]] of moved) states[id] = { word, due };
    const steps = plan.steps.map((step) => {
      const row = moved.get(beside[step.id] || step.id);
      if (!row || step.begin === null) return step;
      const [word, begin, end] = row;
      const shift = DAY * (Math.floor(begin / DAY) - Math.floor(step.begin / DAY));
      const rests = ["done", "not marked"].includes(word) ? [] : step.hands;
      const hands = rests.map(
        ([first, last]) => /** @type {[number, number]} */ ([first + shift, last + shift]),
      );
      return { ...step, begin, end, hands };
    });
    return { ...plan, steps, start: begins, states };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
