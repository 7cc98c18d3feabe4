/* A page in US units: its tables, and the figures of its texts. Loaded where a reader wants them. The build puts
   before it `HB.twins`, made from US_UNITS of engine/quantities.py. */

(function (HB) {
  "use strict";

  /* Cells carry their number, headings their unit and its factor to the reader's: see the renderer. */
  /** @param {boolean} us */
  function tables(us) {
    HB.all("[data-q]").forEach(function (node) {
      if (!node.hasAttribute("data-metric")) node.setAttribute("data-metric", node.textContent);
      if (!us) {
        node.textContent = node.getAttribute("data-metric");
        return;
      }
      var scale = (node.getAttribute("data-scale") || columnScale(node)).split(" ");
      var factor = Number(scale[0]),
        offset = Number(scale[1]);
      var label = node.getAttribute("data-l") || "";
      var numbers = node
        .getAttribute("data-q")
        .split(" ")
        .map(function (/** @type {string} */ part) {
          return Number(part) * factor + offset;
        });
      var side = Number(node.getAttribute("data-side")) || sideOf(node);
      var rounded = (/** @type {number} */ number) => (offset ? tenth : round)(number, side);
      var texts = numbers.length === 3 ? interval(numbers[0], numbers[1], numbers[2], side) : numbers.map(rounded);
      var text = label ? texts[0] + "\u00a0" + label : texts[0];
      node.textContent = texts.length === 3 ? text + " (" + texts[1] + " to " + texts[2] + ")" : text;
    });
    HB.all("[data-us]").forEach(function (node) {
      if (!node.hasAttribute("data-metric")) node.setAttribute("data-metric", node.textContent);
      node.textContent = us ? node.getAttribute("data-us") : node.getAttribute("data-metric");
    });
  }

  /* ---- figures in running text: captions, notes, sentences of an answer ---- */

  const UNITS = Object.keys(HB.twins)
    .sort((one, other) => other.length - one.length)
    .join("|");
  const RAISED = "⁻⁰¹²³⁴⁵⁶⁷⁸⁹";
  const NUMBER = `[-−]?\\d+(?:\\.\\d+)?(?:×10[${RAISED}]+)?`;
  /* 4 mm, 2 to 8 mm, 90 x 60 x 6 mm, 4 mm (2 to 8) */
  const FIGURE = new RegExp(
    `(^|[^\\w.,×°])((?:${NUMBER}(?: to | x |–))*${NUMBER})([ \u00a0])(${UNITS})(?![\\w/²³·^°])( \\(${NUMBER} to ${NUMBER}\\))?`,
    "g",
  );
  const EACH = new RegExp(NUMBER, "g");
  /* A ratio is told in two units at once, and changes in both or not at all: g of resin in 100 mL. */
  const OF_RATIO = /(?:^|\s)(?:g|mg|mL|%)(?: of [^.;,:]{1,30})? (?:in|per|for each) $/;
  /* The same, where the second unit is a word: 20 g for each litre. */
  const BEFORE_RATIO =
    /^(?: of [^.;,:\d]{1,40})? (?:for (?:each|every)|per|in (?:a|each)|an?) (?:[a-z]* )?(?:litre|millilitre|(?:kilo)?gram|(?:centi|milli)?metre|ounce|degree)\b/;
  const OF_DEFINITION = /\bounce (?:has )?$/; // an ounce has 28.35 g
  const GRITS = /\b(?:ANSI|FEPA|JIS|[FP]\d+)\b/; // the size of a grit is its name
  /* What tells a difference of temperatures from a temperature. */
  const BEFORE_DIFFERENCE =
    /\b(?:by|within|each|every|margin of|rise of|drop of)(?: (?:less|more|about|at least|at most|up to))?(?: than)? $/;
  /* 60 °C (140 °F), and the other way round. */
  const bare = (/** @type {string} */ label) => label.replace(/[()]/g, ""); // within brackets
  const OTHERS = Object.values(HB.twins)
    .flatMap(([label]) => [label.replace(/[()]/g, "\\$&"), bare(label)])
    .join("|");
  const TOLD_BEHIND = new RegExp(`^ \\([−-]?[\\d.]+[ \u00a0](?:${OTHERS})\\)`);
  const TOLD_AHEAD = new RegExp(`\\d[ \u00a0](?:${OTHERS}) \\($`);
  /* A limit is not rounded to its outer side; of a range that is allowed, neither end. */
  const MOST_AHEAD =
    /\b(?:at most|within|(?:not|never) exceed|(?:no|not|never) (?:more|longer|above|over|faster|warmer|hotter|higher|deeper|wider|thicker)(?: than)?|(?:at|on) or below)(?: about)? $/i;
  const LEAST_AHEAD =
    /\b(?:at least|(?:no|not|never) (?:less|shorter|below|under|colder|cooler|lower|thinner)(?: than)?|at or above)(?: about)? $/i;
  const MOST_BEHIND = /^(?: or (?:less|below|under|thinner|lower|shorter)| at (?:the )?most)\b/;
  const LEAST_BEHIND = /^(?: or (?:more|above|over|thicker|higher|longer)| at (?:the )?least)\b/;
  const RANGE_AHEAD = /(?:\ballowed is|:) $/;
  const AFTER_DIFFERENCE =
    /^ (?:wrong|error|above|below|warmer|colder|cooler|hotter|higher|lower|apart|off)\b/;

  /** @param {string} text */
  function numberIn(text) {
    const [mantissa, power] = text.replace("−", "-").split("×10");
    if (power === undefined) return Number(mantissa);
    const digits = Array.from(power, (sign) => "-0123456789"[RAISED.indexOf(sign)]).join("");
    return Number(mantissa) * 10 ** Number(digits);
  }

  /* A figure with as many digits as it had, three at least; a temperature to a tenth, as a whole degree comes out. */
  /** @param {string} text @param {number} factor @param {number} offset @param {number} side -1 down, 1 up, 0 nearest */
  function figureInUS(text, factor, offset, side) {
    const number = numberIn(text) * factor + offset;
    if (number === 0) return "0";
    const [mantissa] = text.split("×10");
    const digits = mantissa.replace(/^[-−]?[0.]*/, "").replace(/^(\d+?)0*$/, "$1").replace(".", "").length;
    const decimals = (/\.(\d+)/.exec(mantissa) || ["", ""])[1].length;
    const power = Math.floor(Math.log10(Math.abs(number)));
    const place = offset ? -Math.max(1, decimals) : power + 1 - Math.min(6, Math.max(3, digits));
    const rounded = cut(number, place, side);
    if (Math.abs(rounded) >= 1e-5 || rounded === 0)
      return (place < 0 ? rounded.toFixed(-place).replace(/\.?0+$/, "") : String(rounded)).replace("-", "−");
    const [front, exponent] = rounded.toExponential().split("e");
    const raised = Array.from(exponent.replace("+", ""), (sign) => RAISED["-0123456789".indexOf(sign)]);
    return `${front}×10${raised.join("")}`.replace("-", "−");
  }

  /** @param {string} before @param {string} behind @param {string} numbers @returns {[number, number]} */
  function sides(before, behind, numbers) {
    if (/\d to /.test(numbers)) return RANGE_AHEAD.test(before) ? [1, -1] : [0, 0];
    const down = MOST_AHEAD.test(before) || MOST_BEHIND.test(behind);
    const up = LEAST_AHEAD.test(before) || LEAST_BEHIND.test(behind);
    const side = Number(up) - Number(down);
    return [side, side];
  }

  HB.wordsInUS = (text, difference) => turned(text, Boolean(difference), false);

  /* In both: 25 °C (77 °F). */
  /** @param {string} text @param {boolean} difference @param {boolean} both */
  function turned(text, difference, both) {
    return text.replace(FIGURE, (all, ahead, numbers, space, unit, ends, at) => {
      const before = text.slice(0, at) + ahead;
      const behind = text.slice(at + all.length);
      const ratio = OF_RATIO.exec(before);
      const stays =
        (ratio && !/\d\s?$/.test(before.slice(0, ratio.index))) ||
        BEFORE_RATIO.test(behind) ||
        TOLD_BEHIND.test(behind) ||
        TOLD_AHEAD.test(before) ||
        OF_DEFINITION.test(before) ||
        (unit === "µm" && GRITS.test(text));
      if (stays) return all;
      const [label, factor, offset] = HB.twins[unit];
      const apart = difference || BEFORE_DIFFERENCE.test(before) || AFTER_DIFFERENCE.test(behind);
      const [first, last] = sides(before, behind, numbers);
      const told = (/** @type {string} */ part, /** @type {number[]} */ [one, other]) =>
        part.replace(EACH, (number, place) =>
          figureInUS(number, factor, apart ? 0 : offset, place ? other : one),
        );
      const figure = `${told(numbers, [first, last])}${space}${both ? bare(label) : label}`;
      if (both) return ends ? `${all}, ${figure}${told(ends, [0, 0])}` : `${all} (${figure})`;
      return `${ahead}${figure}${ends ? told(ends, [0, 0]) : ""}`;
    });
  }

  /* Not what is typed, is code or a formula, or stands as somebody wrote or published it. */
  const LEFT_ALONE =
    "script, style, code, pre, textarea, select, input, [data-stays], .as-printed, .hb-table[data-register], .hb-log-rows, a[href*='#source-'], math, .hb-converted, .hb-fields, .hb-rows";
  const BY_ITSELF = "[data-q], [data-us]"; // has its other text beside it
  const FIELD_NAME = ".hb-fields label"; // the name of a field, unlike the field, is a text
  const WORKED = ".hb-steps, .hb-worked"; // a formula stays in its units, and its figures are told in both
  const SAID = ["title", "aria-label"]; // what is read aloud, or shown when pointed at

  /** What a text was and is; answers make new ones, and drop the old.
   * @type {WeakMap<Text | Attr, [string, string]>} */
  const turnedTexts = new WeakMap();

  /** @param {Node} root @returns {Generator<[Text | Attr, Element]>} */
  function* textsOf(root) {
    const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      if (node instanceof Text) {
        const parent = node.parentElement;
        if (parent && !parent.closest(BY_ITSELF)) yield [node, parent];
      } else if (node instanceof Element)
        for (const name of SAID) {
          const said = node.getAttributeNode(name);
          if (said) yield [said, node];
        }
    }
  }

  HB.textsInUS = function (root) {
    if (!HB.prefersUS()) return;
    const found = [...textsOf(root)].filter(
      ([{ nodeValue }, at]) =>
        /\d/.test(nodeValue || "") && (!at.closest(LEFT_ALONE) || at.matches(FIELD_NAME)),
    );
    for (const [node, at] of found) {
      const was = node.nodeValue || "";
      const known = turnedTexts.get(node);
      if (known && known[1] === was) continue;
      const text = turned(was, Boolean(at.closest("[data-d]")), Boolean(at.closest(WORKED)));
      if (text === was) continue;
      turnedTexts.set(node, [was, text]);
      node.nodeValue = text;
    }
  };

  function textsInMetric() {
    for (const [node] of textsOf(document)) {
      const [was, is] = turnedTexts.get(node) || [];
      if (was !== undefined && node.nodeValue === is) node.nodeValue = was;
    }
  }

  /** @param {any} cell @returns {string} */
  function columnScale(cell) {
    return cell.closest("table").getAttribute("data-scales").split(";")[cell.closest("td, th").cellIndex];
  }

  /* The side to which a value of a sentence may be rounded, by the words around it. */
  /** @param {Node} node */
  function sideOf(node) {
    const words = (/** @type {"previousSibling" | "nextSibling"} */ beside) => {
      let at = node;
      while (!at[beside] && at.parentElement && at.parentElement.matches("strong, em, span")) at = at.parentElement;
      return (at[beside] && at[beside].textContent) || "";
    };
    return sides(words("previousSibling"), words("nextSibling"), "")[0];
  }

  /* A temperature: a limit of whole degrees is not moved. */
  const tenth = (/** @type {number} */ number, /** @type {number} */ side) => String(cut(number, -1, side));

  /** @param {number} number @param {number} side */
  function round(number, side) {
    if (number === 0 || !isFinite(number)) return String(number);
    const place = Math.floor(Math.log10(Math.abs(number))) - 2;
    const text = (side ? cut(number, place, side) : number).toPrecision(3);
    return text.indexOf("e") < 0 ? text : String(Number(text));
  }

  /* To a decimal place; what lies on it, but for its last digits, stays. */
  /** @param {number} number @param {number} place @param {number} side -1 down, 1 up, 0 nearest */
  function cut(number, place, side) {
    const shown = Number((number / 10 ** place).toPrecision(12)); // 1.8 x 60 + 32 is 140, not a hair above
    const whole = side < 0 ? Math.floor(shown) : side > 0 ? Math.ceil(shown) : Math.round(shown);
    return place < 0 ? Number(`${whole}e${place}`) : whole * 10 ** place;
  }

  /* To two digits of the distances to the ends, as engine/spread.py prints them; this page may lack its functions. */
  /** @param {number} value @param {number} low @param {number} high @param {number} side @returns {string[]} */
  function interval(value, low, high, side) {
    var down = lastPlace(value - low),
      up = lastPlace(high - value);
    if (low >= value) down = up;
    if (high <= value) up = down;
    down = Math.max(down, up - 1);
    up = Math.max(up, down - 1);
    return [atPlace(value, Math.min(down, up), side), atPlace(low, down, side), atPlace(high, up, side)];
  }

  /** @param {number} distance */
  function lastPlace(distance) {
    return distance > 0 ? Math.floor(Math.log10(distance)) - 1 : -300;
  }

  /** @param {number} number @param {number} place @param {number} side */
  function atPlace(number, place, side) {
    if (number === 0 || !isFinite(number)) return String(number);
    var power = Math.floor(Math.log10(Math.abs(number)));
    var at = Math.max(Math.min(place, power), power - 2);
    if (side) number = cut(number, at, side);
    var text = at < 0 ? number.toFixed(Math.min(-at, 20)) : String(Math.round(number / 10 ** at) * 10 ** at);
    return power < -5 || power > 6 ? String(Number(number.toPrecision(2))) : text;
  }

  /* ---- calculators ---- */

  /* Behind the working's heading: what was given in other units than the formula has. */
  HB.workingInUS = function (bench, { inputs }, values) {
    const steps = bench.querySelector(".hb-steps");
    if (!steps) return;
    const lines = inputs.flatMap((input) => converted(bench, input, values[input.name]));
    const items = lines.map((line) => HB.make("li", {}, line));
    const told = lines.length ? "The formulas are in metric units, so first:" : "The working is in metric units.";
    steps.before(
      HB.make("div", { class: "hb-converted" }, [
        HB.make("p", {}, told),
        ...(lines.length ? [HB.make("ul", {}, items)] : []),
      ]),
    );
    for (const input of inputs.filter(({ unit }) => unit && unit.startsWith("delta_")))
      for (const node of HB.all(`[data-n="${input.name}"]`, steps)) node.setAttribute("data-d", "");
    HB.textsInUS(steps);
  };

  /** @param {HTMLElement} bench @param {HB.Input} input @param {any} value @returns {string[]} */
  function converted(bench, input, value) {
    if (input.form === "rows") return (input.columns || []).flatMap(column);
    const field = HB.one(`[data-argument="${input.name}"]`, bench).closest(".hb-field");
    const menu = field && field.querySelector("select[data-unit]");
    if (!menu || typeof value !== "number") return [];
    const text = HB.one("input", field).value;
    const own = HB.parts(input, text); // a unit that is typed counts, and not that of the menu
    if (((own && own.unit) || menu.value) === input.unit) return [];
    const shown = own && own.unit ? labelled(text) : `${text} ${HB.label(menu.value)}`;
    // What was typed is told in the working, too, and not what its conversion comes back to.
    if (own && (own.unit || menu.value) === HB.us[input.unit])
      for (const node of HB.all(`.hb-told [data-n="${input.name}"][data-u]`, bench))
        node.textContent += ` (${bare(shown)})`;
    return [`${input.about}: ${shown} = ${worked(value)} ${HB.label(input.unit)}`];
  }

  /** @param {number} number */
  const worked = (number) => HB.numerals.worked(number, 7).replace("-", "−");

  /** @param {HB.Input} of @returns {string[]} */
  function column({ about, unit }) {
    const readers = unit && HB.us[unit];
    if (!readers) return [];
    const one = HB.convert(1, readers, unit);
    return [`${about}: 1 ${HB.label(readers)} = ${worked(one)} ${HB.label(unit)}`];
  }

  /* A unit as people read it: 2.3 oz_avdp is 2.3 oz (avoirdupois). */
  /** @param {string} text */
  function labelled(text) {
    return text.replace(/(\d )([a-zA-Z_^\d/]+)/g, (all, ahead, unit) =>
      Object.hasOwn(HB.labels, unit) ? ahead + HB.labels[unit] : all,
    );
  }

  /* Rows as one text, and what is wrong in them: its limits alone, for the rest is told as it was typed. */
  HB.rowsInUS = (text) => HB.wordsInUS(labelled(text));
  HB.faultInUS = (text) => labelled(text).replace(/allowed is .*$/, (allowed) => HB.wordsInUS(allowed));

  /* A listing with its rows and their intervals in the reader's units. */
  HB.listingInUS = function (result, rows, intervals) {
    const columns = result.columns.map((column) => ({ ...column, unit: HB.resultsUnit(column) }));
    /** @type {Record<string, HB.Interval>} */
    const seen = {};
    const turnedRows = rows.map((row, i) =>
      row.map((cell, j) => {
        const name = HB.cellName(result.name, i, j);
        const own = intervals[name];
        if (own) seen[name] = own;
        if (columns[j].kind !== "number" || typeof cell !== "number") return cell;
        const turn = (/** @type {number} */ one) => HB.convert(one, result.columns[j].unit, columns[j].unit);
        if (own) seen[name] = { ...own, low: turn(own.low), high: turn(own.high) };
        return turn(cell);
      }),
    );
    return [{ ...result, columns }, turnedRows, seen];
  };

  /** @type {Map<Element, string[]>} */
  const printed = new Map();

  /* A column's unit stands in its head, and on a phone beside each cell: there a name that says litres goes. */
  HB.headsInUS = function ({ columns }, heads, beside) {
    columns.forEach(({ unit }, j) => {
      if (!unit || !HB.us[unit]) return;
      const [head, cell] = [heads[j + 1], beside[j]]; // the first counts the rows
      const [said, named] = printed.get(head) || [head.textContent || "", cell.dataset.head || ""];
      printed.set(head, [said, named]);
      const [from, to] = [unit, HB.readersUnit(unit)].map(HB.label);
      head.textContent = said.replace(new RegExp(`${from}$`), to);
      cell.dataset.head = from === to ? named : head.textContent;
    });
  };

  /* A cell of rows stands in the reader's unit, and is kept as it was given; another unit that it carries stays. */
  HB.cellInUS = function ({ unit, ...column }, text) {
    const readers = HB.us[unit];
    const parts = readers && HB.parts({ unit, ...column }, text);
    if (!parts || (parts.unit && parts.unit !== unit && parts.unit !== readers)) return text;
    if (parts.unit === readers) return parts.number;
    const digits = parts.number.replace(/^\D*0*\D?0*|e.*$|\D/g, "").length;
    const turned = HB.convert(Number(parts.number), unit, readers);
    return isFinite(turned) ? HB.readable(Number(turned.toPrecision(Math.min(7, Math.max(4, digits))))) : text;
  };

  HB.cellFromUS = function (column, text) {
    const readers = HB.us[column.unit];
    const parts = readers && HB.parts(column, text);
    return parts && !parts.unit ? `${parts.number} ${readers}` : text;
  };

  HB.pageIn = function (us) {
    tables(us);
    if (us) HB.all(".md-typeset").forEach(HB.textsInUS);
    else textsInMetric();
    document.dispatchEvent(new Event("hb-turned"));
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
