/* The plan of the reader's own piece, as the pages of the bench's pieces show theirs: see engine/sheet.py. The steps
   are run by planning.js, which is the same source as the command line. */

(function (HB) {
  "use strict";

  const own = HB.own;
  const DAY = 24;
  const TICKS = [1, 2, 5, 10, 14, 30, 60, 90, 180, 365, 730, 1825, 3650];
  const place = document.getElementById("hb-own-plan");
  const number = HB.pieceName();
  if (!place || !number) return;
  const holder = place;
  const { facts, faults } = HB.readPiece(HB.pieces().get(number) || "");
  if (faults.length) return;
  /** @type {string | null} */
  let start = (facts.get("wanted.start") || { value: null }).value;
  /** @type {Record<string, HB.StepState>} */
  let states = {};

  /** @typedef {ReturnType<typeof HB.planOf>} Plan */

  /** @param {HB.Amount} amount @param {number} [digits] */
  function amountText(amount, digits) {
    const { value, low, high } = amount;
    let { unit } = amount;
    if (unit === "1") {
      const texts = HB.spread.whole_texts(value, low, high);
      return new Set(texts).size === 1 ? texts[0] : `${texts[0]} (${texts[1]} to ${texts[2]})`;
    }
    const from = unit;
    if (unit !== "h" || value < DAY) unit = HB.handyUnit(value, unit);
    const [best, least, most] = [value, low, high].map((one) => HB.convert(one, from, unit));
    return low === high
      ? HB.show(best, unit, digits === undefined ? 3 : digits)
      : HB.showInterval(best, least, most, unit, digits || 3);
  }

  /* Hours below three days, else days. */
  /** @param {HB.Amount} amount */
  function duration(amount) {
    if (amount.unit !== "d" || amount.value >= 3) return amountText(amount, 2);
    const { value, low, high } = amount;
    return amountText({ value: DAY * value, low: DAY * low, high: DAY * high, unit: "h" }, 2);
  }

  /** @param {number} hours */
  function day(hours) {
    if (!start || !Number.isFinite(hours)) return "";
    const date = new Date(`${start}T00:00:00Z`);
    date.setUTCDate(date.getUTCDate() + Math.floor(hours / DAY));
    return Number.isNaN(date.getTime()) ? "" : date.toISOString().slice(0, 10);
  }

  /** @param {HB.PlannedStep} step */
  function when({ begin, end }) {
    if (begin === null || end === null || !start) return "";
    const [first, last] = [day(begin), day(end)];
    return first === last ? first : `${first} to ${last || "beyond the calendar"}`;
  }

  /** @param {string} text @param {string} path */
  const link = (text, path) => HB.make("a", { href: HB.inSite(path) }, text);

  const KEPT = `ticks/plan/${number}`;

  /** @param {string} name @param {string} label */
  function box(name, label) {
    const ticked = HB.store.get(KEPT) || {};
    const control = HB.make("input", { type: "checkbox", name });
    control.checked = ticked[name] === true;
    control.addEventListener("change", () => {
      const now = { ...(HB.store.get(KEPT) || {}), [name]: control.checked };
      HB.store.set(KEPT, now);
    });
    return HB.make("li", {}, [HB.make("label", {}, [control, ` ${label}`])]);
  }

  /** @param {string} id */
  const declaredStep = (id) => /** @type {HB.Step} */ (HB.planSteps.find((step) => step.id === id));

  /* Where a step stands, by the log. */
  /** @param {HB.StepState} state */
  const stateText = ({ word, due }) => (word === "late" && day(due) ? `late, due since ${day(due)}` : word);

  /** @param {HB.PlannedStep} step */
  function stepItem(step) {
    const declared = declaredStep(step.id);
    const at = when(step);
    const state = states[declared.beside || step.id];
    const item = HB.make("li", { class: "hb-plan-step", id: `step-${step.id}` }, [
      HB.make("p", {}, [
        HB.make("strong", {}, [link(declared.title, `procedures/${step.id}.html`)]),
        at ? ` · ${at}` : "",
        state ? " · " : "",
        state ? HB.make("strong", { class: "hb-plan-state" }, stateText(state)) : "",
        HB.make("br"),
        `${duration(step.takes)}, hands on ${duration(step.attended)}. ${step.why}`,
      ]),
    ]);
    if (step.refused) item.append(refusal(step.refused));
    const figures = Object.entries(step.figures);
    if (figures.length) {
      const list = HB.make("dl");
      for (const [name, amount] of figures) {
        const { about, digits } = declared.figures[name];
        list.append(HB.make("dt", {}, about), HB.make("dd", {}, amountText(amount, digits)));
      }
      item.append(list);
    }
    if (declared.cautions.length) {
      const line = HB.make("p", { class: "hb-plan-caution" }, [HB.make("strong", {}, "First read: ")]);
      declared.cautions.forEach((name, i) => {
        line.append(i ? ", " : "", link(name.replace(/-/g, " "), `safety/${name}.html`));
      });
      item.append(line);
    }
    const holds = step.holds.map((hold, i) => box(`${step.id}-hold-${i}`, hold));
    item.append(HB.make("ul", { class: "hb-ticks" }, [...holds, box(`${step.id}-done`, "Done, on")]));
    const lines = declared.record.map((text) =>
      HB.make("li", {}, [text, HB.make("span", { class: "hb-line" })]),
    );
    if (lines.length) item.append(HB.make("ul", { class: "hb-record" }, lines));
    return item;
  }

  /** @param {string} why */
  const refusal = (why) =>
    HB.make("p", { class: "hb-plan-refused", role: "note" }, [HB.make("strong", {}, "Refused. "), why]);

  /** @param {Plan} plan */
  function totals(plan) {
    const table = HB.make("table", { class: "hb" });
    const head = table.createTHead().insertRow();
    for (const text of ["Material", "Amount"]) head.append(HB.make("th", { scope: "col" }, text));
    const body = table.createTBody();
    for (const [name, amount] of Object.entries(plan.totals)) {
      const row = body.insertRow();
      row.append(HB.make("th", { scope: "row" }, name));
      row.insertCell().textContent = amountText(amount);
    }
    return HB.make("div", { class: "hb-scroll", tabindex: "0", role: "group", "aria-label": "Table" }, [
      table,
    ]);
  }

  function open() {
    const unknown = Array.from(facts).filter(([, fact]) => fact.costs !== undefined);
    if (!unknown.length) return [];
    const lines = unknown.map(([key, fact]) =>
      HB.make("li", {}, [
        HB.make("strong", {}, own.facts[key].about),
        `: taken as ${fact.text}. ${fact.costs}`,
      ]),
    );
    return [HB.make("h2", {}, "Not known, and what that costs"), HB.make("ul", {}, lines)];
  }

  /* ---- the drawing of its days ---- */

  /** @param {string} tag @param {Record<string, string | number>} attributes @param {(string | Node)[]} [inside] */
  function svg(tag, attributes, inside) {
    const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
    node.append(...(inside || []));
    return node;
  }

  /** @param {Plan} plan */
  function drawing(plan) {
    const WIDTH = 720;
    const ROW = 22;
    const LABEL = 210;
    const done = plan.steps.filter(({ begin, end }) => begin !== null && end !== null);
    const begins = done.map(({ begin }) => Number(begin));
    const first = Math.min(...begins);
    const last = Math.max(
      ...done.map(({ begin, end, takes }) => Math.max(Number(end), Number(begin) + DAY * takes.high)),
    );
    const days = Math.max((last - first) / DAY, 1e-6);
    const scale = (WIDTH - LABEL - 20) / days;
    const height = ROW * (done.length + 2);
    const told = done.map((step) => `${declaredStep(step.id).title}: ${duration(step.takes)}`).join("; ");
    const group = svg("g", { fill: "currentColor", stroke: "none", "font-size": 12 });
    const every = TICKS.find((tick) => days / tick <= 8) || Math.ceil(days / 8);
    const step = days / every <= 5 ? 1 : 2;
    for (let count = 0; count * every <= days; count += step) {
      const x = LABEL + count * every * scale;
      const text = day(first + count * every * DAY) || `day ${count * every}`;
      group.append(
        svg("rect", { x, y: ROW, width: 1, height: height - ROW, "fill-opacity": 0.2 }),
        svg("text", { x, y: 14, "font-size": 9, "text-anchor": count ? "middle" : "start" }, [text]),
      );
    }
    done.forEach((planned, row) => {
      const top = ROW * (row + 1);
      const x = LABEL + ((Number(planned.begin) - first) / DAY) * scale;
      const width = Math.max(((Number(planned.end) - Number(planned.begin)) / DAY) * scale, 1.5);
      const { title } = declaredStep(planned.id);
      group.append(
        svg("text", { x: 0, y: top + 15 }, [title.length <= 34 ? title : `${title.slice(0, 33)}…`]),
        svg("rect", { x, y: top + 6, width, height: 10, "fill-opacity": 0.3 }),
      );
      const [low, high] = [x + planned.takes.low * scale, x + planned.takes.high * scale];
      if (high - low > 2) {
        group.append(
          svg("rect", { x: low, y: top + 10.5, width: high - low, height: 1 }),
          svg("rect", { x: high, y: top + 7, width: 1, height: 8 }),
        );
      }
      const crowd = Math.max(1, Math.ceil((planned.hands.length * 3) / Math.max(width, 3)));
      planned.hands
        .filter((_, i) => planned.hands.length * 3 <= width || i % crowd === 0)
        .forEach(([begin, end]) => {
          const at = LABEL + ((begin - first) / DAY) * scale;
          group.append(
            svg("rect", { x: at, y: top + 4, width: Math.max(((end - begin) / DAY) * scale, 1), height: 14 }),
          );
        });
    });
    const drawn = svg(
      "svg",
      {
        class: "hb-days",
        role: "img",
        "aria-labelledby": "days-own days-own-d",
        viewBox: `0 0 ${WIDTH} ${height}`,
      },
      [
        svg("title", { id: "days-own" }, [`Days of the plan of ${number}`]),
        svg("desc", { id: "days-own-d" }, [told]),
        group,
      ],
    );
    return HB.make("div", { class: "hb-days-box", tabindex: "0", role: "group", "aria-label": "Days" }, [
      drawn,
    ]);
  }

  /* ---- the page ---- */

  /** @param {Plan} plan */
  function show(plan) {
    const applies = plan.steps.filter((step) => step.applies);
    const left = plan.steps.filter((step) => !step.applies);
    const begins = applies.map(({ begin }) => Number(begin));
    const ends = applies.map(({ end }) => Number(end));
    const dates = start
      ? `, ${day(Math.min(...begins))} to ${day(Math.max(...ends)) || "beyond the calendar"}`
      : "";
    const parts = [];
    if (plan.refused) {
      const told = refusal(plan.refused);
      told.append(" The steps below show what the route would ask for.");
      parts.push(told);
    }
    parts.push(
      HB.make("p", {}, [
        `${number}: grade `,
        HB.make("strong", {}, plan.grade),
        "; from the first step to the last ",
        HB.make("strong", {}, amountText(plan.takes, 2)),
        `${dates}.${start ? "" : " Write the day on which work begins, and the steps get dates."}`,
      ]),
      ...open(),
      HB.make("h2", {}, "Days"),
      drawing(plan),
      HB.make("h2", {}, "Steps"),
      HB.make("ol", { class: "hb-plan-steps" }, applies.map(stepItem)),
      HB.make("h2", {}, "Left out, and why"),
      HB.make(
        "ul",
        {},
        left.map((step) =>
          HB.make("li", {}, [
            link(declaredStep(step.id).title, `procedures/${step.id}.html`),
            ": ",
            step.refused ? HB.make("strong", {}, "Refused. ") : "",
            step.refused || step.why,
          ]),
        ),
      ),
      HB.make("h2", {}, "Material and waste"),
      totals(plan),
      HB.make("p", {}, "No route is a cure: baths lower the chloride, dry air keeps the piece."),
    );
    holder.replaceChildren(HB.make("section", { class: "hb-plan", "data-piece": number }, parts));
    HB.textsInUS(holder);
  }

  /* The plan as it goes on from the log, where there is one. */
  /** @param {Plan} plan */
  function showFrom(plan) {
    const log = HB.hasLog(number) ? HB.readLog(HB.keptLog(number)) : null;
    if (!log || log.faults.length) {
      show(plan);
      return;
    }
    const now = HB.logNow();
    const ahead = HB.continuedPlan(plan, log, HB.logSays(log, facts, now), start, now);
    ({ start, states } = ahead);
    show(ahead);
  }

  const { values, spans } = HB.planInputs(facts);
  showFrom(HB.planOf(values, []));
  // First the plan; what its numbers may really be takes hundreds of runs.
  window.setTimeout(() => {
    showFrom(HB.planOf(values, spans));
    holder.dataset.sure = "yes";
  }, 50);
})((window.HB = window.HB || /** @type {any} */ ({})));
