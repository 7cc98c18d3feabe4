/* The first result over one input, with the reader's own point on it. */

(function (HB) {
  "use strict";

  const SVG = "http://www.w3.org/2000/svg";
  const STEPS = 80;
  const BAND_STEPS = 16;
  const W = 420, H = 220, LEFT = 62, BOTTOM = 40, TOP = 12, RIGHT = 14;

  HB.curve = function (name, values, over, spans) {
    const declared = HB.declared[name];
    const input = declared.inputs.find(d => d.name === over);
    const result = declared.results.find(r => r.kind === "number");
    if (!input || !result) return null;
    const here = values[over];
    if (typeof here !== "number") return null;
    const span = input.unit.startsWith("deg") ? [here - 15, here + 15] : [0, here * 2.5];
    const from = Math.max(input.low, span[0]), to = Math.min(input.high, span[1]);
    /** @type {[number, number][]} */
    const points = [];
    for (let i = 0; i <= STEPS; i += 1) {
      const at = from + (to - from) * i / STEPS;
      const x = input.form === "count" ? Math.round(at) : at;
      const y = HB.trial(name, values, over, x, result.name);
      if (y !== null) points.push([x, y]);
    }
    const mark = HB.trial(name, values, over, here, result.name);
    if (points.length < 3 || mark === null) return null;
    return plot(points, [here, mark], input, result, band(name, values, input, result, spans || {}, points));
  };

  /* Low and high of the result at some of the points; what varies along the curve counts as exact. */
  /** @param {string} name @param {HB.Values} values @param {HB.Input} input @param {HB.Result} result @param {HB.Spans} spans
      @param {[number, number][]} points @returns {[number, number, number][]} */
  function band(name, values, input, result, spans, points) {
    const others = {...spans};
    delete others[input.name];
    if (!Object.keys(others).length) return [];
    /** @type {[number, number, number][]} */
    const found = [];
    const step = Math.max(1, Math.floor((points.length - 1) / BAND_STEPS));
    for (let i = 0; i < points.length; i += step) {
      const at = {...values, [input.name]: points[i][0]};
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

  /** @param {[number, number][]} points @param {[number, number]} mark @param {HB.Input} input @param {HB.Result} result
      @param {[number, number, number][]} band */
  function plot(points, mark, input, result, band) {
    const xs = points.map(point => point[0]), ys = points.map(point => point[1]);
    const x0 = Math.min(...xs), x1 = Math.max(...xs);
    const y0 = Math.min(0, ...ys, ...band.map(point => point[1]));
    let y1 = Math.max(...ys, mark[1], ...band.map(point => point[2]));
    if (y1 === y0) y1 = y0 + 1;
    const unitX = HB.readersUnit(input.unit), unitY = HB.readersUnit(result.unit);
    const px = (/** @type {number} */ x) => LEFT + (W - LEFT - RIGHT) * (x - x0) / (x1 - x0 || 1);
    const py = (/** @type {number} */ y) => H - BOTTOM - (H - BOTTOM - TOP) * (y - y0) / (y1 - y0);
    const inX = (/** @type {number} */ x) => HB.convert(x, input.unit, unitX);
    const inY = (/** @type {number} */ y) => HB.convert(y, result.unit, unitY);
    const box = svg("svg", {viewBox: `0 0 ${W} ${H}`, role: "img",
      "aria-label": `${result.about} over ${input.about}; your point: ` +
        `${HB.show(inX(mark[0]), unitX, 3)}, ${HB.show(inY(mark[1]), unitY, 3)}`});
    box.append(svg("path", {class: "hb-axis", d: `M${LEFT} ${TOP}V${H - BOTTOM}H${W - RIGHT}`}));
    for (const share of [0, 0.5, 1]) {
      const x = x0 + (x1 - x0) * share, y = y0 + (y1 - y0) * share;
      box.append(
        svg("path", {class: "hb-grid", d: `M${LEFT} ${py(y)}H${W - RIGHT}M${px(x)} ${TOP}V${H - BOTTOM}`}),
        svg("text", {x: px(x), y: H - BOTTOM + 14, "text-anchor": share === 1 ? "end" : "middle"},
          HB.numerals.significant(inX(x), 2)),
        svg("text", {x: LEFT - 6, y: py(y) + 4, "text-anchor": "end"}, HB.numerals.significant(inY(y), 2)));
    }
    if (band.length > 1) {
      const around = band.map(p => [p[0], p[2]]).concat(band.slice().reverse().map(p => [p[0], p[1]]));
      box.append(svg("path", {class: "hb-band",
        d: `M${around.map(p => `${px(p[0]).toFixed(1)} ${py(p[1]).toFixed(1)}`).join("L")}Z`}));
    }
    box.append(
      svg("path", {class: "hb-line", d: `M${points.map(p => `${px(p[0]).toFixed(1)} ${py(p[1]).toFixed(1)}`).join("L")}`}),
      svg("circle", {class: "hb-mark", cx: px(mark[0]), cy: py(mark[1]), r: 5}),
      svg("text", {x: W - RIGHT, y: H - 6, "text-anchor": "end"}, `${input.about.slice(0, 48)} ${HB.label(unitX)}`),
      svg("text", {x: LEFT + 4, y: TOP + 4}, HB.label(unitY)));
    return box;
  }
})(window.HB = window.HB || /** @type {any} */ ({}));
