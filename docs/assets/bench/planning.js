/* A plan of one piece: the twin of engine/planning.py around the generated steps, so that the page plans as
   the command line does. Knows no page. The steps are in plan.js, what they say in plan-data.js. */

(function (HB) {
  "use strict";

  const ENDS = [0.05, 0.95];
  const DAY = 24;

  /* The result of a step that cannot be reckoned for this piece; a wish is then left out. */
  /** @param {HB.Step} step @param {string} why */
  function cannot(step, why) {
    return {
      applies: step.needed,
      why: [],
      refused: why,
      figures: {},
      segments: [],
      attended: 0,
      uses: [],
      holds: [],
      says: { waste: 0, baths: 0, round: 0 },
    };
  }

  /* What each step gives; one that cannot be reckoned says so in `refused`, as a text. */
  HB.planRun = function (v) {
    /** @type {Record<string, HB.StepResult>} */
    const done = {};
    for (const step of HB.planSteps) {
      try {
        done[step.id] = HB.plan.steps[step.id](v, done);
      } catch (problem) {
        if (problem.sentence || problem.bad) done[step.id] = cannot(step, problem.sentence || problem.bad);
        else if (problem.refused)
          done[step.id] = cannot(step, said(step, [problem.refused, ...problem.numbers]));
        else throw problem;
      }
    }
    return done;
  };

  /* The sentence of a code with its numbers; a text stays as it is. */
  /** @param {HB.Step} step @param {any} code @returns {string} */
  function said(step, code) {
    if (!code || code.length === 0) return "";
    if (typeof code === "string") return code;
    const asked = /** @type {HB.Result} */ (/** @type {unknown} */ ({ sentences: step.sentences }));
    return HB.sentences(asked, [code], {})[0];
  }

  /* Begin and end of each step that is done, in hours from midnight of the first day. */
  /** @param {Record<string, HB.StepResult>} done @param {HB.Values} v */
  function times(done, v) {
    const follows = HB.planSteps.filter((step) => done[step.id].applies && !step.beside);
    const all = follows.map((step) => done[step.id].segments);
    const found = HB.plan.schedule(all, v["work.day_start"], v["wanted.hours"]);
    /** @type {Record<string, [number, number]>} */
    const begun = {};
    follows.forEach((step, i) => {
      begun[step.id] = found[i];
    });
    for (const step of HB.planSteps)
      if (done[step.id].applies && begun[step.beside]) begun[step.id] = begun[step.beside];
    return begun;
  }

  /** @param {Record<string, HB.StepResult>} done */
  function totals(done) {
    /** @type {Record<string, number>} */
    const found = {};
    for (const step of HB.planSteps)
      if (done[step.id].applies)
        for (const [name, amount] of done[step.id].uses) found[name] = (found[name] || 0) + amount;
    return found;
  }

  /* Every number of a plan by a name of its own, for the trials. */
  /** @param {HB.Values} v */
  function numbers(v) {
    const done = HB.planRun(v);
    const begun = times(done, v);
    /** @type {Record<string, number>} */
    const found = {};
    for (const [name, amount] of Object.entries(totals(done))) found[`total:${name}`] = amount;
    for (const { id } of HB.planSteps) {
      found[`attended:${id}`] = done[id].attended;
      const [begin, end] = begun[id] || [0, 0];
      found[`takes:${id}`] = (end - begin) / DAY;
      for (const [name, value] of Object.entries(done[id].figures))
        if (value !== null) found[`figure:${id}:${name}`] = value;
    }
    const all = Object.values(begun);
    const last = Math.max(...all.map(([, end]) => end));
    const first = Math.min(...all.map(([begin]) => begin));
    found.takes = (last - first) / DAY;
    return found;
  }

  /* The 5th and 95th per cent of every number over the trials of the spanned facts. */
  /** @param {HB.Values} v @param {HB.PlanSpan[]} spans */
  function ends(v, spans) {
    const { share_at: shareAt, stride, points } = HB.plan;
    const along = spans.map((span) =>
      Array.from({ length: points }, (_, point) => {
        const difference = /^(degC|degF|K)$|^delta_/.test(span.unit);
        const found = HB.spread.sampled(span.value, span.low, span.high, shareAt(point), difference);
        return Math.min(Math.max(found, span.least), span.most);
      }),
    );
    const strides = spans.map((_, place) => stride(place));
    /** @type {Map<string, number[]>} */
    const found = new Map();
    for (let trial = 0; trial < points; trial++) {
      const tried = { ...v };
      spans.forEach((span, i) => {
        tried[span.key] = along[i][(trial * strides[i]) % points];
      });
      for (const [name, number] of Object.entries(numbers(tried))) {
        if (!found.has(name)) found.set(name, []);
        /** @type {number[]} */ (found.get(name)).push(number);
      }
    }
    return found;
  }

  /* Begin and end of each stretch of hands-on work of a step that begins then. */
  /** @param {any[][]} segments @param {number} begin @param {HB.Values} v */
  function hands(segments, begin, v) {
    /** @type {[number, number][]} */
    const found = [];
    const hours = v["wanted.hours"];
    let now = begin;
    for (const [count, busy, wait] of segments)
      for (let i = 0; i < count; i++) {
        const first = HB.plan.hands_begin(now, busy, v["work.day_start"], hours);
        const last = HB.plan.hands_end(first, busy, hours);
        found.push([first, last]);
        now = last + wait;
      }
    return found;
  }

  /* The plan of a piece: `v` the facts by key, `spans` those known as a span, in the order of Python. */
  HB.planOf = function (v, spans) {
    const middle = numbers(v);
    const tried = spans.length ? ends(v, spans) : new Map();
    const done = HB.planRun(v);
    const begun = times(done, v);
    /** @param {string} name @param {string} unit @returns {HB.Amount} */
    const amount = (name, unit) => {
      const value = middle[name];
      const around = (tried.get(name) || [value])
        .slice()
        .sort((/** @type {number} */ a, /** @type {number} */ b) => a - b);
      const [low, high] = ENDS.map((share) => HB.spread.quantile(around, share));
      return { value, low: Math.min(low, value), high: Math.max(high, value), unit };
    };
    const steps = HB.planSteps.map((step) => {
      const result = done[step.id];
      const [begin, end] = begun[step.id] || [null, null];
      /** @type {Record<string, HB.Amount>} */
      const figures = {};
      for (const [name, value] of Object.entries(result.figures))
        if (value !== null) figures[name] = amount(`figure:${step.id}:${name}`, step.figures[name].unit);
      return {
        id: step.id,
        applies: result.applies,
        why: said(step, result.why) || HB.planCannot,
        refused: result.refused ? said(step, result.refused) : null,
        figures,
        takes: amount(`takes:${step.id}`, "d"),
        attended: amount(`attended:${step.id}`, "h"),
        holds: result.holds.map((hold) => said(step, hold)),
        begin,
        end,
        hands: step.beside || begin === null ? [] : hands(result.segments, begin, v),
      };
    });
    /** @type {Record<string, HB.Amount>} */
    const all = {};
    const used = totals(done);
    for (const [name, unit] of Object.entries(HB.materials))
      if (used[name] !== undefined) all[name] = amount(`total:${name}`, unit);
    const stopped = steps.find((step, i) => HB.planSteps[i].needed && step.applies && step.refused);
    return {
      grade: `G${done.survey.says.level}`,
      refused: stopped ? stopped.refused : null,
      steps,
      totals: all,
      takes: amount("takes", "d"),
    };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
