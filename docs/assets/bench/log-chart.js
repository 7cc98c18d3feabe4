/* The charts of a log, with their limits and the words that tell what is seen: the twin of engine/chart.py, for one
   line over two plain axes, and of the charts in engine/log_sheet.py. */

(function (HB) {
  "use strict";

  const SVG = "http://www.w3.org/2000/svg";
  const WIDTH = 340;
  const HEIGHT = 240;
  const LEFT = 42;
  const TOP = 30;
  const RIGHT = WIDTH - 38;
  const FOOT = HEIGHT - 46;
  const LETTER = 6.1; // mean width of a letter of 12 units
  const LINE = 14; // between the feet of two lines of text
  const MOST_TICKS = 6;
  const DAY = 24;

  /** @param {string} tag @param {Record<string, string | number>} attributes @param {string} [text] */
  function svg(tag, attributes, text) {
    const node = document.createElementNS(SVG, tag);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
    if (text !== undefined) node.textContent = text;
    return node;
  }

  /* An axis whose ends are round numbers around all that is drawn. */
  /** @param {number[]} values @param {number} [from] */
  function axis(values, from) {
    let low = from === undefined ? Math.min(...values) : from;
    let high = Math.max(...values);
    if (high - low <= Math.max(1e-9 * Math.abs(high), 1e-99)) high = low + Math.max(1, Math.abs(low));
    const step = HB.numerals.round_step(high - low, MOST_TICKS);
    low = Math.floor(low / step + 1e-9) * step;
    high = Math.ceil(high / step - 1e-9) * step;
    const first = Math.round(low / step);
    const count = Math.round((high - low) / step);
    const ticks = Array.from({ length: count + 1 }, (_, i) => (first + i) * step);
    return { ticks, share: (/** @type {number} */ value) => (value - low) / (high - low) };
  }

  /** @param {number} value */
  const number = (value) => (value ? HB.numerals.significant(value, 3) : "0");

  /* What is seen, for those who do not see it. */
  /** @param {HB.LogChart} chart */
  function words({ x, y, points, limits, says }) {
    const read = /** @type {[number, number][]} */ (points.filter(([, value]) => value !== null));
    const [[x0, y0], [x1, y1]] = [read[0], read[read.length - 1]];
    const told = [
      `${y}, over ${x}.`,
      says,
      `${read.length} readings: ${number(y0)} at ${number(x0)}, ${number(y1)} at ${number(x1)}.`,
      ...limits.filter(([name]) => name).map(([name, at]) => `Limit, ${name}: ${number(at)}.`),
    ];
    return told.filter(Boolean).join(" ");
  }

  /* Stretches of a line, which breaks where a fresh bath was filled. */
  /** @param {[number, number | null][]} points */
  function stretches(points) {
    /** @type {[number, number][][]} */
    const found = [[]];
    for (const [at, value] of points)
      if (value === null) found.push([]);
      else found[found.length - 1].push([at, value]);
    return found.filter((stretch) => stretch.length);
  }

  /** @param {HB.LogChart} chart */
  function drawn(chart) {
    const { name, title, x, y, points, limits, low } = chart;
    const read = /** @type {[number, number][]} */ (points.filter(([, value]) => value !== null));
    const across = axis(read.map(([at]) => at));
    const up = axis([...read.map(([, value]) => value), ...limits.map(([, at]) => at)], low);
    const px = (/** @type {number} */ value) => LEFT + (RIGHT - LEFT) * across.share(value);
    const py = (/** @type {number} */ value) => FOOT - (FOOT - TOP) * up.share(value);
    const way = (/** @type {[number, number][]} */ some) =>
      `M${some.map(([at, value]) => `${px(at).toFixed(1)} ${py(value).toFixed(1)}`).join("L")}`;
    const ids = [`own-log-${name}-title`, `own-log-${name}-desc`];
    const box = svg("svg", {
      class: "hb-drawing",
      role: "img",
      "aria-labelledby": ids.join(" "),
      "font-size": 12,
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
      fill: "currentColor",
    });
    box.append(svg("title", { id: ids[0] }, title), svg("desc", { id: ids[1] }, words(chart)));
    const line = { fill: "none", stroke: "currentColor" };
    let free = -1;
    for (const tick of across.ticks) {
      const text = HB.asGiven(tick);
      const half = (LETTER * text.length) / 2;
      box.append(svg("path", { d: `M${px(tick)} ${TOP}V${FOOT}`, ...line, "stroke-opacity": 0.22 }));
      if (px(tick) - half <= free) continue; // words that would touch are left out, their ticks stay
      box.append(svg("text", { x: px(tick), y: FOOT + 15, "text-anchor": "middle" }, text));
      free = px(tick) + half + 2;
    }
    for (const tick of up.ticks)
      box.append(
        svg("path", { d: `M${LEFT} ${py(tick)}H${RIGHT}`, ...line, "stroke-opacity": 0.22 }),
        svg("text", { x: LEFT - 5, y: py(tick) + 4, "text-anchor": "end" }, HB.asGiven(tick)),
      );
    box.append(
      svg("path", { d: `M${LEFT} ${TOP}V${FOOT}H${RIGHT}`, ...line, "stroke-width": 1.3 }),
      svg("text", { x: 4, y: 14, "font-weight": 600 }, y),
      svg("text", { x: RIGHT, y: HEIGHT - 8, "text-anchor": "end", "font-weight": 600 }, x),
    );
    for (const [label, at] of limits) {
      const place = py(at);
      const rule = { ...line, "stroke-width": 1.4, "stroke-dasharray": "9 4" };
      const said = { x: RIGHT - 3, "text-anchor": "end", "font-style": "italic", class: "hb-haloed" };
      box.append(
        svg("path", { class: "hb-stop", d: `M${LEFT} ${place}H${RIGHT}`, ...rule }),
        svg("text", { ...said, y: place > TOP + LINE ? place - 4 : place + LINE }, label),
      );
    }
    box.append(svg("path", { d: stretches(points).map(way).join(""), ...line, "stroke-width": 2 }));
    for (const [at, value] of read) box.append(svg("circle", { cx: px(at), cy: py(value), r: 3 }));
    return HB.make("figure", { class: "hb-plot" }, [box, HB.make("figcaption", {}, title)]);
  }

  /* ---- the series of a log ---- */

  HB.logCharts = function (log, says, facts) {
    const entries = log.standing;
    if (!entries.length) return [];
    const first = DAY * Math.floor(entries[0].at / DAY);
    const x = `days since ${HB.logTime(first).slice(0, 10)}`;
    /** @param {string} name */
    const answer = (name) => says.find((one) => one.name === name)?.answer;
    /** @param {...string} kinds @returns {HB.LogEntry[]} */
    const of = (...kinds) => entries.filter(({ what }) => kinds.includes(what));
    /** @type {HB.LogChart[]} */
    const found = [];
    /** @param {Omit<HB.LogChart, "x" | "points" | "says">} chart @param {HB.LogEntry[]} read */
    function series(chart, read) {
      const points = read.map(
        ({ at, what, value }) =>
          /** @type {[number, number | null]} */ ([
            (at - first) / DAY,
            what === "bath" ? null : Math.abs(value),
          ]),
      );
      if (points.filter(([, value]) => value !== null).length < 2) return;
      const below = read.some(({ value }) => value < 0);
      found.push({
        ...chart,
        x,
        points,
        says: below ? "A reading below detection is drawn at its bound." : "",
      });
    }
    series(
      {
        name: "chloride",
        title: "Chloride read in each bath",
        y: `chloride, ${HB.label("mg/L")}`,
        low: 0,
        limits: [["stop limit", HB.logValues["electrolysis.stop_limit"]]],
      },
      of("bath", "chloride"),
    );
    const ledger = answer("chloride-ledger");
    if (ledger && ledger.results.baths.length > 1) found.push(sum(ledger, facts));
    const weighed = of("weighing");
    const dry = answer("constant-mass");
    const last = weighed.length ? weighed[weighed.length - 1].value : 0;
    const unit = HB.readersUnit("g");
    const inUnit = (/** @type {number} */ grams) => HB.convert(grams, "g", unit);
    /** @type {[string, number][]} */
    const around = dry
      ? [
          ["no change", inUnit(last + dry.results.allowed)],
          ["", inUnit(last - dry.results.allowed)],
        ]
      : [];
    series(
      { name: "mass", title: "Mass at each weighing", y: `mass, ${HB.label(unit)}`, limits: around },
      weighed.map((entry) => ({ ...entry, value: inUnit(entry.value) })),
    );
    const box = answer("storage-verdict");
    series(
      {
        name: "humidity",
        title: "Humidity in its box",
        y: "humidity, %",
        low: 0,
        limits: box ? [["limit", box.results.limit]] : [],
      },
      of("box humidity"),
    );
    return found.map(drawn);
  };

  /** @param {HB.LogAnswer} ledger @param {Map<string, HB.OwnValue>} facts @returns {HB.LogChart} */
  function sum({ values, results }, facts) {
    const mass = /** @type {HB.OwnValue} */ (facts.get("piece.mass")).value / 1000;
    let days = 0;
    const rows = results.baths.map((/** @type {any[]} */ bath, /** @type {number} */ i) => {
      days += values.readings[i][3];
      return [days, bath[3] / mass];
    });
    return {
      name: "sum",
      title: "Chloride out so far",
      x: "days in baths",
      y: `chloride out, by its mass, ${HB.label("mg/kg")}`,
      low: 0,
      points: [[0, 0], ...rows],
      limits: [],
      says: "Where it flattens the piece gives no more.",
    };
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
