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
      var texts = numbers.length === 3 ? interval(numbers[0], numbers[1], numbers[2]) : numbers.map(offset ? tenth : round);
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
  const OTHERS = Object.values(HB.twins)
    .map(([label]) => label.replace(/[()]/g, "\\$&"))
    .join("|");
  const TOLD_BEHIND = new RegExp(`^ \\([−-]?[\\d.]+[ \u00a0](?:${OTHERS})\\)`);
  const TOLD_AHEAD = new RegExp(`\\d[ \u00a0](?:${OTHERS}) \\($`);
  /* A limit is not rounded to its outer side; of a range that is allowed, neither end. */
  const MOST_AHEAD = /\b(?:at most|(?:no|not) (?:more|longer|above)(?: than)?|(?:at|on) or below) $/;
  const LEAST_AHEAD = /\b(?:at least|(?:no|not) (?:less|below)(?: than)?|at or above) $/;
  const MOST_BEHIND = /^ or (?:less|below|under|thinner|lower|shorter)\b/;
  const LEAST_BEHIND = /^ or (?:more|above|over|thicker|higher|longer)\b/;
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
    const shown = Number((number / 10 ** place).toPrecision(12)); // 1.8 x 60 + 32 is 140, not a hair above
    const whole = side < 0 ? Math.floor(shown) : side > 0 ? Math.ceil(shown) : Math.round(shown);
    const rounded = place < 0 ? Number(`${whole}e${place}`) : whole * 10 ** place;
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

  /** @param {string} text a text in metric units @param {boolean} [difference] its temperatures are differences */
  HB.wordsInUS = function (text, difference) {
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
      const turned = (/** @type {string} */ part, /** @type {number[]} */ [one, other]) =>
        part.replace(EACH, (number, place) =>
          figureInUS(number, factor, apart ? 0 : offset, place ? other : one),
        );
      return `${ahead}${turned(numbers, [first, last])}${space}${label}${ends ? turned(ends, [0, 0]) : ""}`;
    });
  };

  /* Not what switches by itself, is typed, is code, or stands as somebody wrote or published it. */
  const LEFT_ALONE =
    "script, style, code, pre, textarea, select, input, [data-q], [data-us], .as-printed, .hb-table[data-register], a[href*='#source-'], .hb-steps, .hb-metric, .hb-fields, .hb-rows";

  const FIELD_NAME = ".hb-fields label"; // the name of a field, unlike the field, is a text

  /** @type {Map<Text, [string, string]>} */
  const turnedTexts = new Map();

  HB.textsInUS = function (root) {
    if (!HB.prefersUS()) return;
    const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
    /** @type {Text[]} */
    const found = [];
    while (walk.nextNode()) {
      const node = /** @type {Text} */ (walk.currentNode);
      const parent = node.parentElement;
      if (/\d/.test(node.data) && parent && (!parent.closest(LEFT_ALONE) || parent.matches(FIELD_NAME)))
        found.push(node);
    }
    for (const node of found) {
      const known = turnedTexts.get(node);
      if (known && known[1] === node.data) continue;
      const text = HB.wordsInUS(
        node.data,
        Boolean(node.parentElement && node.parentElement.closest("[data-d]")),
      );
      if (text === node.data) continue;
      turnedTexts.set(node, [node.data, text]);
      node.data = text;
    }
  };

  function textsInMetric() {
    for (const [node, [was, is]] of turnedTexts) if (node.data === is) node.data = was;
    turnedTexts.clear();
  }

  /** @param {any} cell @returns {string} */
  function columnScale(cell) {
    return cell.closest("table").getAttribute("data-scales").split(";")[cell.closest("td, th").cellIndex];
  }

  /* A temperature: a limit of whole degrees is not moved. */
  const tenth = (/** @type {number} */ number) => String(Number(number.toFixed(1)));

  /** @param {number} number */
  function round(number) {
    if (number === 0 || !isFinite(number)) return String(number);
    var text = number.toPrecision(3);
    return text.indexOf("e") < 0 ? text : String(Number(text));
  }

  /* To two digits of the distances to the ends, as engine/spread.py prints them; this page may lack its functions. */
  /** @param {number} value @param {number} low @param {number} high @returns {string[]} */
  function interval(value, low, high) {
    var down = lastPlace(value - low),
      up = lastPlace(high - value);
    if (low >= value) down = up;
    if (high <= value) up = down;
    down = Math.max(down, up - 1);
    up = Math.max(up, down - 1);
    return [atPlace(value, Math.min(down, up)), atPlace(low, down), atPlace(high, up)];
  }

  /** @param {number} distance */
  function lastPlace(distance) {
    return distance > 0 ? Math.floor(Math.log10(distance)) - 1 : -300;
  }

  /** @param {number} number @param {number} place */
  function atPlace(number, place) {
    if (number === 0 || !isFinite(number)) return String(number);
    var power = Math.floor(Math.log10(Math.abs(number)));
    var at = Math.max(Math.min(place, power), power - 2);
    var text = at < 0 ? number.toFixed(Math.min(-at, 20)) : String(Math.round(number / 10 ** at) * 10 ** at);
    return power < -5 || power > 6 ? String(Number(number.toPrecision(2))) : text;
  }

  HB.pageIn = function (us) {
    tables(us);
    if (us) HB.all(".md-typeset").forEach(HB.textsInUS);
    else textsInMetric();
    document.dispatchEvent(new Event("hb-turned"));
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
