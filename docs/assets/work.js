/* A procedure worked through at the bench: one step at a time, large, ticks kept, timers that outlast a reload.

   Timers keep the moment at which they end, and nothing else: whatever the browser does while the phone sleeps,
   the next look tells the truth. Without this script the steps stand on the page as before. */

(function (HB) {
  "use strict";

  const TICK = 500;
  const SECONDS = { s: 1, min: 60, h: 3600, d: 86400 };
  const DURATION = /^([\d.]+)\s(s|min|h|d)\b/;
  const page = window.location.pathname.split("/").slice(-2).join("/");
  const store = HB.store;

  /* Timers: on every page, because a soak goes on while something else is read. */

  /** @typedef {{id: number, what: string, due: number, then: string, told?: boolean}} Timer */

  /** @param {any} text */
  const isText = (text) => typeof text === "string";

  /** What was kept may be cut short, or of nobody: each timer has a number of its own, by which it is stopped.
   * @returns {Timer[]} */
  function timers() {
    const kept = store.get("timers");
    if (!Array.isArray(kept)) return [];
    const known = new Set();
    return kept.filter((one) => {
      if (!one || !Number.isFinite(one.due) || !Number.isSafeInteger(one.id)) return false;
      if (!isText(one.what) || !isText(one.then) || known.has(one.id)) return false;
      return known.add(one.id);
    });
  }

  /** @param {Timer[]} all */
  function keep(all) {
    store.set("timers", all.length ? all : undefined);
    draw();
  }

  /** @type {AudioContext | null} */
  let sound = null;

  function beep() {
    if (!sound) return;
    for (let i = 0; i < 3; i++) {
      const tone = sound.createOscillator();
      tone.frequency.value = 880;
      tone.connect(sound.destination);
      tone.start(sound.currentTime + 0.4 * i);
      tone.stop(sound.currentTime + 0.4 * i + 0.2);
    }
  }

  /** @param {number} seconds */
  function clock(seconds) {
    const all = Math.abs(Math.round(seconds));
    if (all >= 2 * SECONDS.d) return `${(all / SECONDS.d).toFixed(1)} d`;
    const parts = [Math.floor(all / 3600), Math.floor(all / 60) % 60, all % 60];
    return (parts[0] ? parts : parts.slice(1)).map((part) => String(part).padStart(2, "0")).join(":");
  }

  const bar = HB.make("div", { class: "hb-timers", role: "region", "aria-label": "Timers" });
  const spoken = HB.make("p", { class: "hb-spoken", role: "status" });

  let ticking = 0;

  function draw() {
    const now = Date.now();
    const all = timers();
    const rang = all.filter((one) => one.due <= now && !one.told);
    if (rang.length) {
      beep();
      spoken.textContent = rang.map((one) => `Time is up: ${one.what}.`).join(" ");
      store.set(
        "timers",
        all.map((one) => (one.due <= now ? { ...one, told: true } : one)),
      );
    }
    bar.hidden = !all.length;
    clearTimeout(ticking);
    if (all.length) ticking = setTimeout(draw, TICK); // a page without timers rests
    document.body.classList.toggle("hb-timed", all.length > 0);
    const rows = all
      .sort((a, b) => a.due - b.due)
      .map((one) => {
        const left = (one.due - now) / 1000;
        const row = HB.make("p", { class: left > 0 ? "" : "hb-due" });
        row.append(
          HB.make("strong", {}, left > 0 ? clock(left) : `ended ${clock(left)} ago`),
          HB.make("span", {}, left > 0 ? one.what : `${one.what} Then: ${one.then}`),
          HB.button(left > 0 ? "Stop" : "Done", () => keep(timers().filter((other) => other.id !== one.id))),
        );
        return row;
      });
    // Rows are made anew only where their number or state changed, so that a button stays under the finger.
    const shape = all.map((one) => `${one.id} ${one.due <= now}`).join(",");
    if (bar.dataset.shape === shape) {
      rows.forEach((row, place) => {
        const shown = bar.children[place];
        if (shown && shown.firstChild && row.firstChild) shown.firstChild.textContent = row.firstChild.textContent;
      });
    } else {
      bar.dataset.shape = shape;
      bar.replaceChildren(...rows);
    }
  }

  /** @param {string} what @param {number} seconds @param {string} then */
  function startTimer(what, seconds, then) {
    const Sound = window.AudioContext;
    if (!sound && Sound) sound = new Sound(); // only a touch lets a page sound
    const all = timers();
    const id = 1 + Math.max(0, ...all.map((one) => one.id));
    keep([...all, { id, what, due: Date.now() + 1000 * seconds, then }]);
  }

  document.body.append(bar, spoken);
  draw();
  for (const event of ["pageshow", "focus"]) window.addEventListener(event, draw);
  document.addEventListener("visibilitychange", draw);
  store.subscribe("timers", draw);

  /* The steps, one at a time. */

  const part = document.querySelector('[data-part="steps"]');
  if (!part) return;

  /** What warns of a whole list stands above it, and is read with its first step. @param {Element} item */
  function cautionsAbove(item) {
    const list = /** @type {Element} */ (item.parentElement);
    /** @type {Element[]} */
    const found = [];
    if (item !== list.firstElementChild) return found;
    for (let node = list.previousElementSibling; node && !/^(H[1-6]|OL)$/.test(node.tagName); node = node.previousElementSibling)
      if (node.matches(".admonition.danger, .admonition.warning")) found.unshift(node);
    return found;
  }

  /** Where each step stands: the list item, the heading that it is under, the cautions above its list. */
  const steps = [...part.querySelectorAll(":scope > ol > li, :scope > div:not(.hb-before) > ol > li")].map((item) => {
    let before = /** @type {Element | null} */ (item.parentElement);
    while (before && before.tagName !== "H3") before = before.previousElementSibling;
    return { item, under: before ? (before.firstChild || before).textContent || "" : "", cautions: cautionsAbove(item) };
  });
  const holds = [...document.querySelectorAll('[data-part="hold-point"] tbody tr')];
  if (!steps.length) return;
  const name = () => `ticks/${page}/${HB.pieceName()}`;

  /** @returns {Record<string, string>} what was ticked, by the words of the step: an edition may move them */
  function ticks() {
    const kept = store.get(name());
    const sound = kept && typeof kept === "object" && !Array.isArray(kept) ? Object.entries(kept) : [];
    return Object.fromEntries(sound.filter(([, said]) => ["done", "yes", "no"].includes(said)));
  }

  /** @param {Element} node */
  const words = (node) => (node.textContent || "").replace(/\s+/g, " ").trim().slice(0, 200);

  /** @param {Element} node @param {string} [said] */
  function tick(node, said) {
    const all = ticks();
    if (said) all[words(node)] = said;
    else delete all[words(node)];
    store.set(name(), Object.keys(all).length ? all : undefined);
  }

  const count = steps.length + holds.length;
  /** @type {any} */
  let awake = null;
  let at = 0;

  const view = HB.make("dialog", { class: "hb-work md-typeset", "aria-label": "Work through the steps" });
  const head = HB.make("p", { class: "hb-work-head" });
  const body = HB.make("div", { class: "hb-work-step" });
  body.tabIndex = -1;
  const foot = HB.make("p", { class: "hb-work-foot" });
  view.append(head, body, foot);

  /** @param {number} place */
  const nodeAt = (place) => (place < steps.length ? steps[place].item : holds[place - steps.length]);

  function next() {
    if (at + 1 < count) at += 1;
    showStep();
  }

  function showStep() {
    const done = ticks();
    const node = nodeAt(at);
    const isStep = at < steps.length;
    const label = isStep ? `Step ${at + 1} of ${steps.length}` : `Hold point ${at - steps.length + 1} of ${holds.length}`;
    head.replaceChildren(
      HB.make("strong", {}, label),
      HB.make("span", {}, isStep ? steps[at].under : "yes to go on"),
      HB.button("Close", () => view.close()),
    );
    const copy = HB.make("div");
    if (isStep) {
      copy.append(...[...steps[at].cautions, ...node.childNodes].map((child) => child.cloneNode(true)));
      for (const gone of copy.querySelectorAll(".hb-calc, .hb-foot, .hb-notes, .headerlink")) gone.remove();
    } else {
      const [check, no] = [...node.children];
      copy.append(HB.make("p", { class: "hb-work-ask" }, words(check)));
      const onNo = HB.make("p");
      onNo.append(HB.make("strong", {}, "On no: "), ...[...no.childNodes].map((child) => child.cloneNode(true)));
      copy.append(onNo);
    }
    for (const twin of copy.querySelectorAll("[id]")) twin.removeAttribute("id");
    body.replaceChildren(copy);
    const asked = [...copy.querySelectorAll(".hb-value")]
      .map((value) => DURATION.exec((value.textContent || "").replace(/\u00a0/g, " ")))
      .filter((found) => found !== null);
    const seen = new Set();
    for (const found of asked) {
      if (!found || seen.has(found[0])) continue;
      seen.add(found[0]);
      const unit = /** @type {"s" | "min" | "h" | "d"} */ (found[2]);
      const then = at + 1 < count ? words(nodeAt(at + 1)).slice(0, 90) : "the page's next step";
      const what = `${document.title.split(" - ")[0]}, ${label.split(" of ")[0].toLowerCase()}.`;
      body.append(
        HB.button(`Start a timer: ${found[0]}`, () => startTimer(what, Number(found[1]) * SECONDS[unit], then), "hb-work-timer"),
      );
    }
    const back = HB.button("Back", () => {
      at = Math.max(0, at - 1);
      showStep();
    });
    back.disabled = at === 0;
    const said = done[words(node)];
    /** @type {Node[]} */
    const choices = [back];
    if (isStep) {
      choices.push(
        HB.button(said ? "Done before: next" : "Done", () => {
          tick(node, "done");
          next();
        }, "hb-work-next"),
      );
    } else {
      choices.push(
        HB.button(said === "no" ? "No (said before)" : "No", () => {
          tick(node, "no");
          showStep();
        }),
        HB.button(said === "yes" ? "Yes (said before)" : "Yes", () => {
          tick(node, "yes");
          next();
        }, "hb-work-next"),
      );
    }
    foot.replaceChildren(...choices);
    view.classList.toggle("hb-work-no", said === "no");
    body.scrollTop = 0;
    body.focus();
    showDone();
  }

  async function keepAwake() {
    try {
      awake = await /** @type {any} */ (navigator).wakeLock.request("screen");
    } catch (_) {
      awake = null; // not every browser can, and none must
    }
  }

  const status = HB.make("span", { class: "hb-work-status" });
  const clear = HB.button("Clear the ticks", () => {
    store.set(name(), undefined);
    showDone();
  });

  function showDone() {
    const done = ticks();
    const count = steps.filter(({ item }) => done[words(item)]).length;
    clear.hidden = !Object.keys(done).length;
    status.textContent = count ? `${count} of ${steps.length} steps done` : "";
    for (const { item } of steps) item.classList.toggle("hb-ticked", Boolean(done[words(item)]));
  }

  function open() {
    const done = ticks();
    const left = [...Array(count).keys()].find((place) => !["done", "yes"].includes(done[words(nodeAt(place))]));
    at = left === undefined ? 0 : left;
    document.body.append(view);
    foot.before(bar); // what lies behind a dialog cannot be touched
    view.showModal();
    keepAwake();
    showStep();
  }

  view.addEventListener("close", () => {
    if (awake) awake.release();
    awake = null;
    document.body.append(bar);
    showDone();
    nodeAt(at).scrollIntoView({ block: "center" });
  });
  document.addEventListener("visibilitychange", () => {
    if (view.open && document.visibilityState === "visible") keepAwake();
  });

  const row = HB.make("p", { class: "hb-work-start" });
  row.append(HB.button("Work through the steps", open), clear, status);
  const jump = document.querySelector(".hb-jump");
  if (jump) jump.after(row);
  else part.before(row);
  showDone();
})(window.HB);
