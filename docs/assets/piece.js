/* Which piece the pages answer for: the example, or one that a reader typed on this device. Pieces are kept as the text
   of their files, so that what is kept, saved and opened again is the same to the letter. The rest is loaded when a
   piece is chosen, or the panel is opened. */

(function (HB) {
  "use strict";

  const CHOSEN = "piece";
  const KEPT = "pieces";
  /* A piece may ask for any calculation. */
  const WHOLE = [
    ...["reader.js", "calculations-data.js", "calculations.js", "calculators.js"],
    ...["bench/rows.js", "bench/curve.js"],
  ].map((name) => `assets/${name}`);
  const ANSWERS = ["assets/own-data.js", "assets/patch.js", "assets/bench/facts.js", "assets/bench/own.js"];
  const PLAN = ["assets/plan-data.js", "assets/plan.js", "assets/bench/planning.js"];
  const LOG = ["assets/log-data.js", "assets/log.js", "assets/bench/logged.js"];
  /* What is made on a page of its own, by the id of its holder. */
  /** @type {[id: string, scripts: string[]][]} */
  const PLACES = [
    ["hb-own-plan", ["assets/bench/own-plan.js"]],
    ["hb-own-log", [...LOG, "assets/bench/log-chart.js", "assets/bench/own-log.js"]],
  ];

  /* What was kept may be cut short, or of nobody. */
  HB.pieces = function () {
    /** @type {Map<string, string>} */
    const found = new Map();
    const kept = HB.store.get(KEPT);
    if (kept && typeof kept === "object")
      for (const [number, text] of Object.entries(kept))
        if (number && typeof text === "string") found.set(number, text);
    return found;
  };

  /** @param {Map<string, string>} pieces */
  HB.keepPieces = (pieces) => HB.store.set(KEPT, pieces.size ? Object.fromEntries(pieces) : undefined);

  HB.pieceName = function () {
    const number = HB.store.get(CHOSEN);
    return typeof number === "string" && HB.pieces().has(number) ? number : "";
  };

  /* Every page answers anew: nothing of the piece before is left on it. */
  HB.choosePiece = function (number) {
    HB.store.set(CHOSEN, number || undefined);
    window.location.reload();
  };

  HB.withWhole = () => HB.loadAll(WHOLE);
  HB.withAnswers = () => HB.loadAll([...WHOLE, ...ANSWERS]);
  HB.withPlan = () => HB.loadAll([...WHOLE, ...ANSWERS, ...PLAN]);

  HB.hasLog = (number) => typeof HB.store.get(`log/${number}`) === "string";

  HB.fileName = (number) => number.replace(/[^\p{L}\p{N}._-]+/gu, "-") || "piece";

  HB.saveFile = function (name, text, type) {
    const address = URL.createObjectURL(new Blob([text], { type: `${type};charset=utf-8` }));
    const link = HB.make("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    window.setTimeout(() => URL.revokeObjectURL(address), 1000);
  };

  /* ---- the head of every page, and what stands below a page's title ---- */

  const number = HB.pieceName();

  function openPanel() {
    button.disabled = true;
    HB.withAnswers()
      .then(() => HB.load("assets/bench/panel.js", () => HB.openPanel))
      .then(() => HB.openPanel(button))
      .catch(() => {
        button.textContent = "Piece: a file of the site is missing";
      })
      .finally(() => {
        button.disabled = false;
      });
  }

  const button = HB.button("", openPanel, "hb-piece");
  // A narrow head has room for the number only.
  const words = number ? ["Piece ", number] : ["Your ", "piece"];
  button.append(HB.make("span", { class: "hb-piece-word" }, words[0]), words[1]);
  button.setAttribute("aria-haspopup", "dialog");
  const name = number ? `Piece ${number}: the pages answer for it. Choose another` : "Your piece";
  button.setAttribute("aria-label", name);

  /** @param {string} name @param {(string | Node)[]} inside */
  function note(name, inside) {
    const title = document.querySelector("article h1");
    const example = document.querySelector(".hb-example");
    const told = HB.make("p", { class: name, role: "note" }, inside);
    if (example) example.replaceWith(told);
    else if (title) title.after(told);
  }

  function answer() {
    const text = HB.pieces().get(number) || "";
    const read = HB.readPiece(text);
    if (read.faults.length) {
      const [{ line, key, told }] = read.faults;
      note("hb-own-note hb-own-fault", [
        `${number} cannot be read with this edition of the handbook, so the figures are the example's: line ${line}: ${[key, told].filter(Boolean).join(": ")}. Mend it under `,
        HB.button("Your piece", openPanel),
        ".",
      ]);
      return;
    }
    const open = Array.from(read.facts.values()).filter(({ costs }) => costs !== undefined).length;
    note("hb-own-note", [
      `Figures that follow the piece are worked for ${number}, typed on this device`,
      open ? `; ${open} of its facts are not known, and what is taken instead is told in its ` : "; see its ",
      HB.make("a", { href: HB.inSite("pieces/own.html") }, "plan"),
      " and its ",
      HB.make("a", { href: HB.inSite("pieces/own-log.html") }, "log"),
      ".",
      ...refusals(),
    ]);
    HB.answerFor(read.facts, number);
  }

  /* What this bench cannot do for the piece, as its plan said when it was last saved. */
  function refusals() {
    const kept = HB.store.get("piece-refused");
    const told = kept && kept[number];
    if (!Array.isArray(told) || !told.every((one) => typeof one === "string")) return [];
    return told.map((one) => HB.make("strong", { class: "hb-own-refused" }, ` ${one}`));
  }

  /* Another page chose a piece or changed this one. What is being typed here is not taken away. */
  function anew() {
    const panel = document.querySelector(".hb-piece-panel[open]");
    if (panel) panel.addEventListener("close", () => window.location.reload(), { once: true });
    else window.location.reload();
  }

  function start() {
    const header = document.querySelector(".md-header__inner");
    if (!header || !document.querySelector("[data-house]")) return;
    const search = header.querySelector('label[for="__search"]');
    header.insertBefore(button, header.querySelector(".hb-switch") || search);
    HB.store.subscribe(CHOSEN, anew);
    const text = HB.pieces().get(number);
    HB.store.subscribe(KEPT, () => HB.pieces().get(number) === text || anew());
    const [id, scripts] = PLACES.find(([one]) => document.getElementById(one)) || ["", []];
    const place = document.getElementById(id);
    const example = document.querySelector(".hb-example");
    // In the margin of every printed sheet: see hooks/handbook_site/sheets.py.
    const said = number ? `Worked for ${number}` : example ? "Worked for the example" : "";
    const inMargin = () => document.documentElement.style.setProperty("--hb-piece", JSON.stringify(said));
    // What stands on the root has the whole page styled anew: for the example, not before somebody prints.
    if (number) inMargin();
    else if (said) window.addEventListener("beforeprint", inMargin, { once: true });
    if (!number) {
      if (place) place.replaceChildren("No piece is typed yet. ", HB.button("Type one", openPanel));
      return;
    }
    document.documentElement.dataset.piece = number;
    HB.withAnswers()
      .then(() => (HB.hasLog(number) ? HB.loadAll(LOG) : undefined))
      .then(answer)
      .then(() => (place ? HB.withPlan().then(() => HB.loadAll(scripts)) : undefined))
      .catch((problem) => {
        console.error(problem);
        note("hb-own-note hb-own-fault", [
          `The figures are the example's and not those of ${number}: a script of the site could not be loaded. Copy the whole folder of the site.`,
        ]);
      });
  }

  start(); // the page is read before its scripts run
})((window.HB = window.HB || /** @type {any} */ ({})));
