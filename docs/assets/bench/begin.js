/* Calculators begin here. They stand on the page with a first answer and fixed fields; what works one is loaded when
   it is pointed at, reached, opened, or asked for by an address, by the reader's units or by what was typed before.
   Only then can its fields be changed: nothing typed is lost, and no answer is stale. */

(function (HB) {
  "use strict";

  /** @typedef {[path: string, isHere: () => any]} Script */

  /* In the order in which they run. */
  /** @param {HTMLElement} box @returns {Script[]} */
  function scriptsOf(box) {
    const bench = HB.one("[data-calculation]", box);
    const name = bench.getAttribute("data-calculation") || "";
    /** @type {Script[]} */
    const scripts = [
      ["assets/reader.js", () => HB.reading],
      [`assets/calculations/${name}.js`, () => HB.declared && HB.declared[name]],
      ["assets/calculators.js", () => HB.calculatorOf],
    ];
    if (bench.querySelector(".hb-rows")) scripts.push(["assets/bench/rows.js", () => HB.grid]);
    if (bench.hasAttribute("data-curve")) scripts.push(["assets/bench/curve.js", () => HB.curve]);
    return scripts;
  }

  /** @param {HTMLDetailsElement} box */
  async function load(box) {
    await Promise.all(
      scriptsOf(box)
        .filter(([, isHere]) => !isHere())
        .map(([path, isHere]) => HB.load(path, isHere)),
    );
  }

  HB.withCalculator = async function (box) {
    try {
      await load(box);
      const calculator = HB.calculatorOf(box);
      const missing = box.querySelector(".hb-missing");
      if (missing) missing.remove();
      return calculator;
    } catch (problem) {
      told(box);
      throw problem;
    }
  };

  /** @param {HTMLDetailsElement} box */
  function told(box) {
    const fields = box.querySelector(".hb-fields");
    if (!fields || box.querySelector(".hb-missing")) return;
    const said = document.createElement("p"); // what makes nodes shortly may be what is missing
    said.className = "hb-missing hb-fault";
    said.setAttribute("role", "alert");
    said.textContent =
      "A script of the site could not be loaded, so the fields are fixed, and the answer is for what stands in them. Copy the whole folder of the site.";
    fields.before(said);
  }

  /** @param {HTMLDetailsElement} box @param {(calculator: HB.Calculator) => void} work @param {() => void} [failed] */
  function when(box, work, failed) {
    HB.withCalculator(box)
      .then(work)
      .catch((problem) => {
        console.error(problem);
        if (failed) failed();
      });
  }

  /** @param {HTMLDetailsElement} box */
  const answer = (box) => when(box, (calculator) => HB.compute(calculator));

  /** @returns {HTMLDetailsElement[]} */
  const boxes = () => HB.all("details.hb-calc");

  /* What an address fills in. */
  HB.fromAddress = function (hash) {
    const mark = hash.indexOf("?");
    /** @type {Map<string, string>} */
    const texts = new Map();
    for (const part of mark < 0 ? [] : hash.slice(mark + 1).split("&")) {
      const at = part.indexOf("=");
      if (at < 0) continue;
      let text = part.slice(at + 1);
      try {
        text = decodeURIComponent(text);
      } catch (problem) {
        /* cut short on its way: shown as it came */
      }
      texts.set(part.slice(0, at), text);
    }
    return { filled: mark >= 0, texts };
  };

  function atAddress() {
    const { hash } = window.location;
    const box = document.getElementById(hash.slice(1).split("?")[0]);
    if (!(box instanceof HTMLDetailsElement) || !box.classList.contains("hb-calc")) return;
    when(box, (calculator) => HB.openAt(calculator, hash), () => {
      box.open = true; // what is missing is told inside
      box.scrollIntoView();
    });
  }

  function start() {
    if (!HB.all || !HB.load || !HB.store) {
      document.querySelectorAll("details").forEach(told); // the script of every page is missing, or broke off
      return;
    }
    for (const box of boxes()) {
      const early = () => load(box).catch(() => {}); // told when the box is opened
      for (const kind of ["pointerenter", "focusin"]) box.addEventListener(kind, early, { once: true });
      box.addEventListener("toggle", () => {
        if (box.open) answer(box);
      });
      if (box.open || HB.prefersUS() || HB.store.get(HB.typedName(box))) answer(box);
    }
    atAddress();
    window.addEventListener("hashchange", atAddress);
    document.addEventListener("hb-units", () => {
      for (const box of boxes())
        if (HB.prefersUS() || (HB.isStarted && HB.isStarted(box)))
          when(box, (calculator) => HB.inReadersUnits(calculator));
    });
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})((window.HB = window.HB || /** @type {any} */ ({})));
