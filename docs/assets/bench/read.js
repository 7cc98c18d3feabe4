/* Numbers and units, and what a person typed: the twin of engine/fields.py. What a text says is read by
   HB.reading, made from engine/reading.py.
   Knows no page, so that the tests run it beside Python. */

(function (HB) {
  "use strict";

  const NO_BREAK = "\u00a0";

  /* ---- numbers and units ---- */

  /** @param {string} text */
  function withoutZeros(text) {
    const parts = text.split("×");
    if (parts[0].includes(".")) parts[0] = parts[0].replace(/0+$/, "").replace(/\.$/, "");
    return parts.join("×");
  }

  HB.asGiven = (number) => withoutZeros(HB.numerals.significant(number, 7));

  HB.label = function (unit) {
    if (unit === "text" || unit === "rows") return "";
    return Object.hasOwn(HB.labels, unit) ? HB.labels[unit] : unit;
  };

  HB.show = function (number, unit, digits, side) {
    if (digits && side) number = HB.numerals.sided(number, digits, side);
    const text = digits ? HB.numerals.significant(number, digits) : HB.asGiven(number);
    const label = HB.label(unit);
    return label ? text + NO_BREAK + label : text;
  };

  HB.convert = (number, from, to) => HB.reading.rescaled(number, from, to);

  /* As a person would write it into a field: in full where that is short, else to four digits. The twin of
     `typed` in engine/forms.py. */
  HB.readable = function (number) {
    const full = plainPowers(HB.asGiven(number));
    if (Math.abs(Number(full) - number) <= 1e-9 * Math.abs(number)) return full;
    return plainPowers(withoutZeros(HB.numerals.significant(number, 4)));
  };

  /* ---- the same checks, in the same words, as in Python ---- */

  /** @param {string} message @returns {{message: string}} */
  function refusal(message) {
    return { message };
  }

  HB.complaint = function (input, value) {
    switch (input.form) {
      case "quantity":
      case "count":
      case "reading": {
        if (typeof value !== "number") return `is not a number; allowed is ${input.allowed}`;
        const size = input.form === "reading" ? Math.abs(value) : value;
        const slack = 1e-12 * Math.max(Math.abs(input.low), Math.abs(input.high));
        if (!(input.low - slack <= size && size <= input.high + slack)) {
          return `is out of range; allowed is ${input.allowed}${input.why ? ` (${input.why})` : ""}`;
        }
        if (input.form === "count" && value !== Math.floor(value)) {
          return `is not a whole number; allowed is ${input.allowed}`;
        }
        return "";
      }
      case "choice":
        return HB.lists[input.options].includes(value)
          ? ""
          : `is not a known ${input.kind}; allowed is one of ${input.allowed}`;
      case "several":
        for (const [i, word] of value.entries()) {
          if (!HB.lists[input.options].includes(word)) {
            return `is not a known ${input.kind}; allowed is one of ${input.allowed}`;
          }
          if (value.indexOf(word) !== i) return `names one entry twice; allowed is ${input.allowed}`;
        }
        return value.length < input.least ? `needs at least ${input.least} of ${input.allowed}` : "";
      case "yesno":
        return typeof value === "boolean" ? "" : "is neither; allowed is yes or no";
      case "rows":
        return rowCount(input, value.length) || inRows(input, value);
      default:
        return "";
    }
  };

  /** @param {HB.Input} input @param {number} count */
  function rowCount(input, count) {
    return count < input.least || count > input.most ? `has ${count} rows; allowed is ${input.allowed}` : "";
  }

  /** @param {HB.Input} input @param {any[][]} rows */
  function inRows(input, rows) {
    for (const [i, row] of rows.entries()) {
      for (const [j, column] of input.columns.entries()) {
        if (row[j] === null && column.optional) continue;
        const text = HB.complaint(column, row[j]);
        if (text) return `has in row ${i + 1} ${column.name} = ${row[j]}, which ${text}`;
      }
    }
    return "";
  }

  HB.shownValue = function (input, value) {
    if (value === null) return "none";
    switch (input.form) {
      case "quantity":
        return HB.show(value, input.unit, 0);
      case "count":
        return String(value);
      case "reading":
        return value < 0 ? `below ${HB.show(-value, input.unit, 0)}` : HB.show(value, input.unit, 0);
      case "several":
        return value.join(", ");
      case "yesno":
        return value ? "yes" : "no";
      case "rows":
        return value
          .map((/** @type {any[]} */ row) =>
            row
              .map((cell, i) => (cell === null ? "" : HB.shownValue(input.columns[i], cell)))
              .filter(Boolean)
              .join(" "),
          )
          .join("; ");
      default:
        return String(value);
    }
  };

  /* ---- reading what a person typed ---- */

  /* A choice by any of its names; what is none of them stays as it was written. The twin of `read` of a Choice. */
  HB.named = function (input, text) {
    const plain = text.trim().replace(/\s+/g, " ");
    const called = input.called === undefined ? null : HB.called[input.called];
    const names = HB.lists[input.options];
    if (!called || names.includes(plain)) return plain;
    const low = plain.toLowerCase();
    return (
      names.find((name) => name === low || (called[name] && called[name].split("|").includes(low))) || plain
    );
  };

  /* 1×10⁻⁹, as the pages print it, is typed as 1e-9; a typographic minus as a hyphen. */
  const RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

  /** @param {string} text */
  function plainPowers(text) {
    return text
      .replace(/−/g, "-")
      .replace(
        /\s*[×x]\s*10(⁻?)([⁰¹²³⁴⁵⁶⁷⁸⁹]+)/g,
        (all, minus, power) =>
          `e${minus ? "-" : ""}${power.replace(/./g, (/** @type {string} */ sign) => RAISED.indexOf(sign))}`,
      );
  }

  /* What the reader found; its fault is thrown. */
  /** @param {any[]} found @returns {any} */
  function given(found) {
    if (found[0] === "fault") throw refusal(found[1]);
    return found[1];
  }

  /* The number as it was written, 9.8×10¹ and not 9.8e1, and its unit's name in the data: 70 F is in degF. */
  HB.parts = function (input, text) {
    const found = HB.reading.number_apart(text, input.unit);
    return found[0] === "fault" ? null : { number: found[1], unit: found[2] };
  };

  /* `chosen` is the unit beside the field: none beside a count; empty where there is none to choose, as in a row of text. */
  /** @param {HB.Input} input @param {string} text @param {string | undefined} chosen */
  function readNumber(input, text, chosen) {
    const read = input.form === "reading" ? HB.reading.reading : HB.reading.value;
    return given(read(text, input.unit, chosen === undefined ? input.unit : chosen));
  }

  HB.read = function (input, text, unit) {
    text = text.trim();
    if (input.optional && (text === "" || text === "none" || text === "no limit")) return null;
    let value;
    try {
      value = readText(input, text, unit);
    } catch (problem) {
      // as Field.read_optional does: every refusal says what is allowed
      if (!problem.message || problem.message.includes("allowed is")) throw problem;
      throw refusal(`${problem.message}; allowed is ${input.allowed}`);
    }
    const wrong = HB.complaint(input, value);
    if (wrong) throw refusal(wrong);
    return value;
  };

  /* A quantity with what it may really be; the twin of `read_spanned` in engine/fields.py. */
  HB.readKnown = function (input, text, unit) {
    const whole = text.trim();
    const left = input.optional && (whole === "" || whole === "none" || whole === "no limit");
    if (input.form !== "quantity" || left) return { value: HB.read(input, text, unit) };
    const found = HB.reading.span(whole, input.unit, unit === undefined ? input.unit : unit);
    if (found[0] === "fault") {
      throw refusal(found[1].includes("allowed is") ? found[1] : `${found[1]}; allowed is ${input.allowed}`);
    }
    const [, value, low, high] = found;
    for (const [number, named] of [
      [value, ""],
      [low, "has a span whose low end "],
      [high, "has a span whose high end "],
    ]) {
      const wrong = HB.complaint(input, number);
      if (wrong) throw refusal(named + wrong);
    }
    return low < high ? { value, ends: [low, high] } : { value };
  };

  /** @param {HB.Input} input @param {string} text @param {string | undefined} unit @returns {any} */
  function readText(input, text, unit) {
    switch (input.form) {
      case "quantity":
      case "count":
      case "reading":
        return readNumber(input, text, unit);
      case "several":
        return text
          .split(",")
          .map((part) => HB.named(input, part))
          .filter(Boolean);
      case "choice":
        return HB.named(input, text);
      case "yesno":
        if (!/^(?:yes|no)$/i.test(text)) throw refusal("is neither; allowed is yes or no");
        return text.toLowerCase() === "yes";
      case "rows":
        return textRows(input, text);
      default:
        return text;
    }
  }

  /* What is wrong with words for which a form is declared: a line, or a day of the calendar. */
  HB.wordsFault = function (input, pattern, text) {
    if (pattern === undefined) return "";
    if (/[\p{Cc}\p{Cf}\p{Co}\p{Cn}\p{Zl}\p{Zp}]/u.test(text.replace(/[\u200c\u200d]/g, ""))) {
      return `holds a sign that nobody sees; allowed is ${input.allowed}`;
    }
    if (!new RegExp(`^(?:${pattern})$`, "u").test(text)) return `does not fit; allowed is ${input.allowed}`;
    const day = pattern.startsWith("20[0-9]") && /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
    if (day) {
      const date = new Date(Date.UTC(Number(day[1]), Number(day[2]) - 1, Number(day[3])));
      if (date.getUTCDate() !== Number(day[3]) || date.getUTCMonth() + 1 !== Number(day[2])) {
        return `is no day of the calendar; allowed is ${input.allowed}`;
      }
    }
    return "";
  };

  /* Inputs that came in a file of their own pick from lists of that file: put these behind the calculators'. */
  HB.addLists = function ({ lists, called }, inputs) {
    const shift = HB.lists.length;
    const others = HB.called.length;
    HB.lists.push(...lists);
    HB.called.push(...called);
    for (const input of inputs) {
      if (input.options !== undefined) input.options += shift;
      if (input.called !== undefined) input.called += others;
    }
  };

  /* ---- rows: as text, and as the cells of a grid ---- */

  /** @param {HB.Input} input @param {number} count @param {number} i */
  function entryCount(input, count, i) {
    const { columns, allowed } = input;
    return count === columns.length ? "" : `has ${count} entries in row ${i + 1}; allowed is ${allowed}`;
  }

  /** @param {HB.Input} input @param {string} text */
  function textRows(input, text) {
    const rows = jsonRows(text) || given(wholeRows(input, text));
    return rows.map((/** @type {string[]} */ cells, /** @type {number} */ i) => {
      const ragged = entryCount(input, cells.length, i);
      if (ragged) throw refusal(ragged);
      return cells.map((cell, j) => {
        try {
          return HB.read(input.columns[j], cell, input.columns[j].unit);
        } catch (problem) {
          if (problem instanceof Error) throw problem;
          throw refusal(`has in row ${i + 1} ${input.columns[j].name} = ${cell}, which ${problem.message}`);
        }
      });
    });
  }

  /** @param {HB.Input} input @param {string} text */
  function wholeRows(input, text) {
    const found = HB.reading.rows(text, input.columns.length);
    return found[0] === "fault" ? found : ["rows", found.slice(1)];
  }

  /** @param {string} text @returns {string[][] | null} */
  function jsonRows(text) {
    if (!text.trim().startsWith("[")) return null;
    try {
      const rows = JSON.parse(text);
      if (Array.isArray(rows) && rows.every(Array.isArray)) return rows.map((row) => row.map(String));
    } catch (problem) {
      /* not such a list: read as lines, and told by its first cell */
    }
    return null;
  }

  HB.cells = (text) => jsonRows(text) || HB.reading.cells(text);

  HB.readRows = function (input, cells) {
    /** @type {HB.CellFault[]} */
    const faults = [];
    const rows = cells.map((row, i) => ({ row, i })).filter(({ row }) => row.some((cell) => cell.trim()));
    const values = rows.map(({ row, i }) =>
      input.columns.map((column, j) => {
        let message = entryCount(input, row.length, i);
        try {
          if (!message) return HB.read(column, row[j], column.unit);
        } catch (problem) {
          if (problem instanceof Error) throw problem;
          const typed = row[j].trim();
          const said = typed
            ? `${typed.slice(0, 40)} ${problem.message}`
            : `is missing; allowed is ${column.allowed}`;
          message = `row ${i + 1}, ${column.about}: ${said}`;
        }
        faults.push({ row: i, column: j, message });
        return null;
      }),
    );
    const { least, most } = input;
    const count = `has ${values.length} row${values.length === 1 ? "" : "s"}; allowed is ${least} to ${most}`;
    const few = values.length < least || values.length > most;
    return { values, faults, message: faults.length ? faults[0].message : few ? count : "" };
  };

  HB.rowsText = function (input, cells) {
    const rows = cells
      .filter((row) => row.some((cell) => cell.trim()))
      .map((row) => row.map((cell, i) => withUnit(input.columns[i] || {}, cell.trim())));
    return rows.some((row) => row.some((cell) => /[,;]/.test(cell)))
      ? JSON.stringify(rows)
      : rows.map((row) => row.join(", ")).join("; ");
  };

  /* A cell stands under its unit; out of the grid it carries it. */
  /** @param {HB.Input} column @param {string} cell */
  function withUnit(column, cell) {
    if (cell === "") return "none";
    const parts = column.unit && HB.parts(column, cell);
    return parts && !parts.unit && column.unit !== "1" ? `${cell} ${column.unit}` : cell;
  }

  HB.underUnits = function (input, cells) {
    return cells.map((row) =>
      row.map((cell, i) => {
        const column = input.columns[i];
        if (!column || column.unit === undefined) return cell;
        if (column.optional && cell === "none") return "";
        const parts = HB.parts(column, cell);
        return parts && parts.unit === column.unit ? parts.number : cell;
      }),
    );
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
