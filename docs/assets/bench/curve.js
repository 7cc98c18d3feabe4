/* The first result over one input, with the reader's own point on it, and the limit that it is held to. */

(function (HB) {
  "use strict";

  const SVG = "http://www.w3.org/2000/svg";
  const STEPS = 80;
  const BAND_STEPS = 16;
  const MOST_TICKS = 5;
  const HIGHEST = 4; // times the reader's own result: what lies above runs out at the top
  const WIDE = 1000; // counts whose results differ by more than this stand on an axis of ratios
  const NEAR = 10; // a limit farther away than this many times the result would flatten the curve
  const W = 340,
    H = 220,
    LEFT = 50,
    BOTTOM = 44,
    TOP = 28,
    RIGHT = 12,
    LETTERS = 52; // as many as fit across

  HB.curve = function (name, values, over, spans, limit) {
    const declared = HB.declared[name];
    const input = declared.inputs.find((d) => d.name === over);
    const result = declared.results.find((r) => r.kind === "number" || r.kind === "whole");
    if (!input || !result) return null;
    const here = values[over];
    if (typeof here !== "number") return null;
    /** @type {Point[]} */
    const points = [];
    for (const x of places(input, here)) {
      const y = HB.trial(name, values, over, x, result.name);
      if (y !== null) points.push([x, y]);
    }
    const mark = HB.trial(name, values, over, here, result.name);
    if (points.length < 3 || mark === null) return null;
    const around = band(name, values, input, result, spans || {}, points);
    // The limit is a number from the house standard, or the name of an input.
    const held = limit && (limit in values ? values[limit] : Number(limit));
    return plot(points, [here, mark], input, result, around, typeof held === "number" ? held : null);
  };

  /** @typedef {[number, number]} Point */

  /* Where the curve is computed: around the reader's own value, within what is allowed; a count by ones. */
  /** @param {HB.Input} input @param {number} here @returns {number[]} */
  function places(input, here) {
    if (input.form === "count") {
      const from = Math.max(input.low, Math.min(0, here)),
        to = Math.min(input.high, Math.max(Math.ceil(2.5 * here), here + 4));
      const step = Math.max(1, Math.ceil((to - from) / STEPS));
      return Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, i) => from + i * step);
    }
    const span = input.unit.startsWith("deg") ? [here - 15, here + 15] : [0, here * 2.5];
    const from = Math.max(input.low, span[0]),
      to = Math.min(input.high, span[1]);
    return Array.from({ length: STEPS + 1 }, (_, i) => from + ((to - from) * i) / STEPS);
  }

  /* Low and high of the result at some of the points; what varies along the curve counts as exact. */
  /** @param {string} name @param {HB.Values} values @param {HB.Input} input @param {HB.Result} result @param {HB.Spans} spans
      @param {Point[]} points @returns {[number, number, number][]} */
  function band(name, values, input, result, spans, points) {
    const others = { ...spans };
    delete others[input.name];
    if (!Object.keys(others).length) return [];
    /** @type {[number, number, number][]} */
    const found = [];
    const step = Math.max(1, Math.floor((points.length - 1) / BAND_STEPS));
    for (let i = 0; i < points.length; i += step) {
      const at = { ...values, [input.name]: points[i][0] };
      const interval = HB.propagate(name, at, others, HB.run(name, at)).intervals[result.name];
      if (interval) found.push([points[i][0], interval.low, interval.high]);
    }
    return found;
  }

  /** @param {string} tag @param {Record<string, string | number>} attributes @param {string} [text] */
  function svg(tag, attributes, text) {
    const node = document.createElementNS(SVG, tag);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
    if (text !== undefined) node.textContent = text;
    return node;
  }

  /** @param {number} low @param {number} high @param {number} step */
  function ticks(low, high, step) {
    const found = [];
    for (let i = Math.ceil(low / step - 1e-9); i <= Math.floor(high / step + 1e-9); i += 1)
      found.push(i * step);
    return found;
  }

  /** @param {string} about @param {string} unit */
  function named(about, unit) {
    const end = HB.label(unit) ? `, ${HB.label(unit)}` : "";
    const room = LETTERS - end.length;
    return (about.length > room ? `${about.slice(0, room - 1).replace(/\s+\S*$/, "")} …` : about) + end;
  }

  /** @param {Point[]} points */
  function ratioOf(points) {
    const ys = points.map((p) => p[1]);
    return Math.max(...ys) / Math.min(...ys);
  }

  /* The stretches of a line below a height, cut where they cross it. */
  /** @param {Point[]} points @param {number} top @returns {Point[][]} */
  function below(points, top) {
    /** @type {Point[][]} */
    const pieces = [[]];
    points.forEach(([x, y], i) => {
      const last = points[i - 1];
      if (last && last[1] > top !== y > top) {
        const crossing = /** @type {Point} */ ([
          last[0] + ((x - last[0]) * (top - last[1])) / (y - last[1]),
          top,
        ]);
        if (y > top) pieces[pieces.length - 1].push(crossing);
        else pieces.push([crossing]);
      }
      if (y <= top) pieces[pieces.length - 1].push([x, y]);
    });
    return pieces.filter((piece) => piece.length);
  }

  /* Everything is drawn in the reader's own units, so that their ticks are round. */
  /** @param {Point[]} declared @param {Point} own @param {HB.Input} input @param {HB.Result} result
      @param {[number, number, number][]} around @param {number | null} held */
  function plot(declared, own, input, result, around, held) {
    const unitX = HB.readersUnit(input.unit),
      unitY = HB.resultsUnit(result);
    const inX = (/** @type {number} */ x) => HB.convert(x, input.unit, unitX);
    const inY = (/** @type {number} */ y) => HB.convert(y, result.unit, unitY);
    const points = declared.map((p) => /** @type {Point} */ ([inX(p[0]), inY(p[1])]));
    const mark = [inX(own[0]), inY(own[1])];
    const spread = around.map((p) => [inX(p[0]), inY(p[1]), inY(p[2])]);
    const wide = input.form === "count" && points.every((p) => p[1] > 0) && ratioOf(points) > WIDE;
    const far = held !== null && !wide && Math.abs(inY(held)) > NEAR * Math.abs(mark[1]);
    const limit = held === null || far ? null : inY(held);

    const xs = points.map((p) => p[0]),
      ys = points
        .map((p) => p[1])
        .concat(
          spread.flatMap((p) => [p[1], p[2]]),
          limit === null ? [] : [limit],
        );
    const x0 = Math.min(...xs),
      x1 = Math.max(...xs);
    const most = mark[1] > 0 ? Math.max(HIGHEST * mark[1], limit || 0) : Infinity;
    let y0 = Math.min(0, ...ys),
      y1 = Math.min(Math.max(...ys), most);
    if (!(y1 > y0)) y1 = y0 + 1;
    let marksY = HB.numerals.round_step(y1 - y0, MOST_TICKS);
    if (wide) {
      [y0, y1] = [Math.min(...ys), Math.max(...ys)].map(HB.numerals.decades);
      marksY = Math.ceil((y1 - y0) / MOST_TICKS);
    }
    y0 = Math.floor(y0 / marksY + 1e-9) * marksY;
    y1 = Math.ceil(y1 / marksY - 1e-9) * marksY;
    const height = (/** @type {number} */ y) => (wide ? HB.numerals.decades(y) : y);

    const px = (/** @type {number} */ x) => LEFT + ((W - LEFT - RIGHT) * (x - x0)) / (x1 - x0 || 1);
    const py = (/** @type {number} */ y) =>
      H - BOTTOM - ((H - BOTTOM - TOP) * (Math.min(height(y), y1) - y0)) / (y1 - y0);
    const way = (/** @type {number[][]} */ some) =>
      `M${some.map((p) => `${px(p[0]).toFixed(1)} ${py(p[1]).toFixed(1)}`).join("L")}`;

    const told = [
      `${result.about} over ${input.about}; your point: ` +
        `${HB.show(mark[0], unitX, 3)}, ${HB.show(mark[1], unitY, 3)}`,
    ];
    if (limit !== null) told.push(`limit: ${HB.show(limit, unitY, 3)}`);
    const box = svg("svg", { viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": told.join("; ") });
    for (const x of ticks(x0, x1, HB.numerals.round_step(x1 > x0 ? x1 - x0 : 1, MOST_TICKS))) {
      box.append(
        svg("path", { class: "hb-grid", d: `M${px(x)} ${TOP}V${H - BOTTOM}` }),
        svg("text", { x: px(x), y: H - BOTTOM + 15, "text-anchor": "middle" }, HB.asGiven(x)),
      );
    }
    for (const tick of ticks(y0, y1, marksY)) {
      const y = wide ? 10 ** tick : tick;
      box.append(
        svg("path", { class: "hb-grid", d: `M${LEFT} ${py(y)}H${W - RIGHT}` }),
        svg("text", { x: LEFT - 5, y: py(y) + 4, "text-anchor": "end" }, HB.asGiven(y)),
      );
    }
    if (spread.length > 1) {
      const back = spread.slice().reverse();
      box.append(
        svg("path", { class: "hb-band", d: `${way(spread.map((p) => [p[0], p[2]]).concat(back))}Z` }),
      );
    }
    box.append(svg("path", { class: "hb-axis", d: `M${LEFT} ${TOP}V${H - BOTTOM}H${W - RIGHT}` }));
    if (limit !== null) {
      const under = py(limit) < TOP + 16;
      box.append(
        svg("path", { class: "hb-limit", d: `M${LEFT} ${py(limit)}H${W - RIGHT}` }),
        svg(
          "text",
          { class: "hb-haloed", x: W - RIGHT - 3, y: py(limit) + (under ? 14 : -4), "text-anchor": "end" },
          `limit ${HB.show(limit, unitY, 0)}`,
        ),
      );
    }
    if (input.form === "count") {
      const seen = points.filter((p) => height(p[1]) <= y1);
      box.append(...seen.map((p) => svg("circle", { class: "hb-dot", cx: px(p[0]), cy: py(p[1]), r: 3 })));
    } else {
      const drawn = result.kind === "whole" ? stairs(points) : points;
      box.append(svg("path", { class: "hb-line", d: below(drawn, y1).map(way).join("") }));
    }
    box.append(
      svg("circle", { class: "hb-mark", cx: px(mark[0]), cy: py(mark[1]), r: 5 }),
      svg("text", { class: "hb-axis-name", x: 2, y: 14 }, named(result.about, unitY)),
      svg(
        "text",
        { class: "hb-axis-name", x: W - RIGHT, y: H - 8, "text-anchor": "end" },
        named(input.about, unitX),
      ),
    );
    return box;
  }

  /* A result in whole numbers stays until it jumps. */
  /** @param {Point[]} points @returns {Point[]} */
  function stairs(points) {
    return points.flatMap((p, i) =>
      i && points[i - 1][1] !== p[1] ? [/** @type {Point} */ ([p[0], points[i - 1][1]]), p] : [p],
    );
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
