/* A field, which knows its source: the text and unit that its value is read from, apart from what it shows. A
   change of the unit shows another figure and leaves the source as it was typed. */

(function (HB) {
  "use strict";

  HB.readersUnit = (unit) => (HB.prefersUS() && HB.us[unit]) || unit;

  /* A result's, which may stay as it is for all readers: the size of a grit. */
  HB.resultsUnit = (result) => (result.metric ? result.unit : HB.readersUnit(result.unit));

  HB.field = function (bench, input) {
    const control = HB.one(`[data-argument="${input.name}"]`, bench);
    const box = /** @type {HTMLElement} */ (control.closest(".hb-field"));
    const grid = input.form === "rows" ? HB.grid(control, input) : null;
    /** @type {HTMLSelectElement | null} */
    const menu = box.querySelector("select[data-unit]");
    const few = menu && menu.getAttribute("data-units");
    const units = few ? few.split(" ") : HB.menus[input.unit] || [];
    if (menu) menu.append(...units.map((unit) => HB.make("option", { value: unit }, HB.label(unit))));
    const help = HB.one(".hb-help", box);
    const exact = control.getAttribute("data-exact");
    /** @type {HB.Source} */
    const start = {
      text: grid ? "" : printedText(control),
      unit: box.querySelector("[data-unit]") ? input.unit : "",
    };
    if (exact !== null) {
      const [value, ...ends] = exact.split(" ").map(Number);
      start.exact = value;
      if (ends.length) start.ends = [ends[0], ends[1]];
    }
    if (grid) start.cells = grid.cells();
    const made = {
      input,
      control,
      grid,
      menu,
      units: menu ? [input.unit, ...units] : [],
      help,
      helpText: help.textContent || "",
      error: HB.one(".hb-error", box),
      printed: start,
      start,
      source: start,
      touched: false,
      seen: "",
    };
    if (control.options && input.called !== undefined) otherNames(/** @type {any} */ (control), input);
    if (!grid) control.value = start.text; // a browser may have put back what stood there before
    HB.showField(made, HB.readersUnit(start.unit));
    return made;
  };

  /* What the page came with, whatever the browser has filled in since. */
  /** @param {HB.Control} control */
  function printedText(control) {
    if (!control.options) return control.defaultValue;
    const options = Array.from(control.options);
    return (options.find((option) => option.defaultSelected) || options[0]).value;
  }

  /* Under the names of a menu its other names: each chooses the name that it stands for. */
  /** @param {HTMLSelectElement} menu @param {HB.Input} input */
  function otherNames(menu, input) {
    const called = HB.called[/** @type {number} */ (input.called)];
    const others = HB.lists[input.options]
      .filter((name) => called[name])
      .flatMap((name) => called[name].split("|").map((other) => [other, name]))
      .sort(([one], [other]) => (one < other ? -1 : 1));
    const group = HB.make("optgroup", { label: "also called" });
    group.append(...others.map(([other, name]) => HB.make("option", { value: name }, `${other}: ${name}`)));
    if (others.length) menu.append(group);
  }

  HB.knownOf = ({ input, source }) =>
    source.exact !== undefined
      ? { value: source.exact, ends: source.ends }
      : HB.readKnown(input, source.text, source.unit || undefined);

  HB.sameSource = (a, b) =>
    a.text === b.text &&
    a.unit === b.unit &&
    a.exact === b.exact &&
    JSON.stringify(a.cells) === JSON.stringify(b.cells);

  HB.isTyped = (field) => !HB.sameSource(field.source, field.start);

  /* Show a field's source, in the unit asked for where its menu has it. */
  HB.showField = function (field, unit) {
    const { control, grid, menu, source, input } = field;
    if (grid) grid.fill(source.cells || []);
    else if (!menu) control.value = source.text;
    else {
      menu.value = field.units.includes(unit) ? unit : source.unit;
      control.value = menu.value === source.unit ? source.text : converted(field, menu.value);
    }
    HB.markField(field);
  };

  /* What stands in a field now. */
  HB.stateOf = ({ control, grid, menu }) =>
    JSON.stringify([grid ? grid.cells() : control.value, menu && menu.value]);

  /* Each value knows whether it is the page's or the reader's, and says so. */
  HB.markField = function (field) {
    const { grid, start, input, menu, helpText } = field;
    field.seen = HB.stateOf(field);
    if (field.example) field.example.hidden = field.touched || HB.isTyped(field);
    const unit = menu && start.unit ? menu.value : start.unit;
    const from = unit === start.unit ? start.text : converted({ ...field, source: start }, unit);
    const began = grid ? "" : ` from ${from || "empty"} ${HB.label(unit)}`.trimEnd();
    const allowed = menu ? allowedIn(input, menu.value) : input.allowed;
    const help = HB.isTyped(field) ? `${helpText}; changed${began}` : helpText;
    field.help.textContent = help.replace(input.allowed, allowed);
  };

  /* What is allowed, in the unit that the menu shows: each end is rounded to its inner side, so that what is
     printed may be typed. */
  /** @param {HB.Input} input @param {string} unit */
  function allowedIn(input, unit) {
    if (unit === input.unit) return input.allowed;
    const bare = `${HB.asGiven(input.low)} to ${HB.asGiven(input.high)} ${HB.label(input.unit)}`;
    const low = inward(HB.convert(input.low, input.unit, unit), 1);
    const high = inward(HB.convert(input.high, input.unit, unit), -1);
    return input.allowed.replace(bare, `${low} to ${high} ${HB.label(unit)}`);
  }

  HB.allowedIn = allowedIn;

  /* A number in another unit, rounded so that what is shown may be typed: not over the edge of what is allowed. */
  /** @param {HB.Input} input @param {number} number @param {string} unit */
  function inside(input, number, unit) {
    const turned = HB.convert(number, input.unit, unit);
    const back = HB.convert(Number(HB.readable(turned)), unit, input.unit);
    if (back < input.low) return inward(turned, 1);
    return back > input.high ? inward(turned, -1) : HB.readable(turned);
  }

  /** @param {number} number @param {number} side 1 upwards, -1 downwards */
  function inward(number, side) {
    const text = HB.readable(number);
    if ((Number(text) - number) * side >= -1e-12 * Math.abs(number)) return text;
    const place = 10 ** (Math.floor(HB.numerals.decades(Math.abs(number))) - 3);
    return HB.readable(Number((Number(text) + side * place).toPrecision(4)));
  }

  /* A figure in another unit; a text that is no figure is taken to be meant in the unit now chosen. */
  /** @param {HB.Field} field @param {string} unit */
  function converted(field, unit) {
    const { input, source } = field;
    if (!source.text.trim()) return source.text; // an empty field is in no unit, and is not changed by another
    try {
      const { value, ends } = HB.knownOf(field);
      if (value !== null) return spanText([value, ...(ends || [])], (number) => inside(input, number, unit));
    } catch (problem) {
      if (problem instanceof Error) throw problem;
    }
    const parts = HB.parts(input, source.text);
    if (parts && !parts.unit) return HB.readable(HB.convert(Number(parts.number), source.unit, unit));
    field.source = { ...source, unit };
    return source.text;
  }

  /* ---- sources: from the house, to and from text ---- */

  /* A number, and behind it in brackets the ends of its span. */
  /** @param {number[]} numbers @param {(number: number) => string} [read] */
  function spanText(numbers, read) {
    const [value, low, high] = numbers.map(read || HB.readable);
    return low === undefined ? value : `${value} (${low} to ${high})`;
  }

  HB.ofHouse = function (input, value, unit, ends) {
    if (value === null || value === undefined) return { text: "", unit };
    if (typeof value !== "number") return { text: HB.shownValue(input, value), unit };
    const numbers = [value, ...(ends || [])];
    const text = spanText(numbers);
    if (numbers.every((number) => Number(HB.readable(number)) === number)) return { text, unit };
    return ends ? { text, unit, exact: value, ends } : { text, unit, exact: value };
  };

  /* Whether a text is a span that leaves its unit to the menu beside it: 4 (2 to 8). */
  /** @param {HB.Input} input @param {string} text @param {string} unit */
  function bareSpan(input, text, unit) {
    return (
      input.form === "quantity" &&
      text.includes("(") &&
      HB.reading.span(text, input.unit, "")[0] === "fault" &&
      HB.reading.span(text, input.unit, unit)[0] !== "fault"
    );
  }

  /* As text that carries its unit, for an address or for the clipboard. */
  HB.written = function ({ input, source }) {
    if (source.cells) return HB.rowsText(input, source.cells);
    const text =
      source.exact === undefined
        ? source.text.trim()
        : source.ends
          ? `${source.exact} (${source.ends.join(" to ")})`
          : String(source.exact);
    if (source.unit && source.unit !== "1" && bareSpan(input, text, source.unit))
      return `${text} ${source.unit}`;
    const parts = source.unit && source.unit !== "1" && text ? HB.parts(input, text) : null;
    return parts && !parts.unit ? `${text} ${source.unit}` : text;
  };

  HB.sourceOf = function (field, written) {
    const { input, grid, units, start } = field;
    if (grid) return { text: "", unit: "", cells: HB.underUnits(input, HB.cells(written)) };
    if (input.form === "quantity" && written.includes("(")) return spanSource(field, written);
    if (input.form === "choice") return { text: HB.named(input, written), unit: start.unit };
    const parts = start.unit ? HB.parts(input, written) : null;
    if (!parts || !parts.unit) return { text: written, unit: start.unit };
    if (parts.unit === start.unit && start.exact !== undefined && Number(parts.number) === start.exact)
      return start;
    return parts.unit === start.unit || units.includes(parts.unit)
      ? { text: parts.number, unit: parts.unit }
      : { text: written, unit: start.unit };
  };

  /* A span that an address carries: the page's own where it is the same, else without the unit of the menu. */
  /** @param {HB.Field} field @param {string} written @returns {HB.Source} */
  function spanSource({ input, units, start }, written) {
    if (start.ends && written === HB.written({ input, source: start })) return start;
    const at = written.lastIndexOf(")");
    const unit = at < 0 ? "" : written.slice(at + 1).trim();
    const offered = unit && (unit === start.unit || units.includes(unit));
    return offered ? { text: written.slice(0, at + 1), unit } : { text: written, unit: start.unit };
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
