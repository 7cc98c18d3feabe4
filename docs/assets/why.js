/* Why is a number what it is? Touch it, or reach it with the tab key and press enter. What is told is in why-data.js,
   which is loaded when somebody first asks. */

(function (HB) {
  "use strict";

  const FOCUS = "a[href], button";

  /** @type {HTMLElement | null} */
  let box = null;
  /** @type {HTMLElement | null} */
  let asker = null;

  /** @param {string} text @param {string} address */
  const link = (text, address) => HB.make("a", { href: HB.inSite(address) }, text);

  /** @param {string} title @param {Node[]} items */
  function part(title, items) {
    return items.length
      ? [
          HB.make("h3", {}, title),
          HB.make(
            "ul",
            {},
            items.map((item) => HB.make("li", {}, [item])),
          ),
        ]
      : [];
  }

  /** @param {string} text */
  const words = (text) => document.createTextNode(text);

  /** A house value as a button that tells about it in turn.
   * @param {HB.Why} why @param {string} key */
  function value(why, key) {
    const told = why.values[key];
    if (!told) return words(key);
    const button = HB.button(key, () => show(told.text, ofValue(why, key)));
    return HB.make("span", {}, [button, ` ${(HB.ownText && HB.ownText(key)) || told.text}`]);
  }

  /** @param {HB.Why} why @param {string[]} keys */
  function values(why, keys) {
    const told = (/** @type {boolean} */ fact) =>
      keys.filter((key) => Boolean(why.values[key]?.fact) === fact).map((key) => value(why, key));
    return [...part("House values", told(false)), ...part("Facts of the piece", told(true))];
  }

  /** @param {HB.Why} why @param {string[]} keys */
  function cited(why, keys) {
    return part(
      "Sources",
      keys.map((key) => link(why.sources[key], `${why.pages.sources}#source-${key}`)),
    );
  }

  /** @param {HB.Why} why @param {string[]} names */
  function formulas(why, names) {
    return part(
      "Formulas",
      names.map((name) => link(why.calculations[name], `${why.pages.calculations}#calculation-${name}`)),
    );
  }

  const WORKED = { class: "hb-worked" }; // told in metric units, and behind them in the reader's

  /** @param {HB.Why} why @param {HB.WhyFigure} figure @returns {Node[]} */
  function ofFigure(why, figure) {
    const inputs = figure.inputs.map(([about, text, key]) => {
      const line = HB.make("span", figure.working.length ? WORKED : {}, `${about}: ${text}`);
      if (key) line.append(words(", house value "), HB.make("code", {}, key));
      return line;
    });
    return [
      HB.make("p", {}, `${figure.about}${figure.refused ? `: refused: ${figure.refused}` : ""}.`),
      ...formulas(why, [figure.calculation]),
      ...part("From", inputs),
      ...part(
        "Worked out",
        figure.working.map((line) => HB.make("span", WORKED, line)),
      ),
      ...part("How sure", figure.notes.map(words)),
      ...part("Taken for granted", figure.assumes.map(words)),
      ...values(why, figure.values),
      ...cited(why, figure.sources),
    ];
  }

  /** @param {HB.Why} why @param {string} key @returns {Node[]} */
  function ofValue(why, key) {
    const told = why.values[key];
    const rests = told.grade ? `Rests on: ${told.grade}. ` : "";
    return [
      HB.make("p", {}, [
        link(key, told.address),
        words(`: ${told.about}. ${rests}${told.why}`),
      ]),
      HB.make("p", {}, `Allowed: ${told.allowed}. Set in ${told.place}.`),
      ...part(
        "Tables that depend on it",
        told.tables.map(([name, url]) => link(name, `${url}#table-${name}`)),
      ),
      ...part(
        "Pages that depend on it",
        told.pages.map(([title, url]) => link(title, url)),
      ),
      ...part("Calculations that start from it", told.calculations.map((name) => link(why.calculations[name], `${why.pages.calculations}#calculation-${name}`))),
    ];
  }

  /** @param {HB.Why} why @param {string} id @param {string} cell @returns {Node[]} */
  function ofTable(why, id, cell) {
    const table = why.tables[id];
    return [
      HB.make("p", {}, cell ? `${table.title}: ${cell}.` : `${table.title}.`),
      ...formulas(why, table.calculations),
      ...values(why, table.values),
      ...cited(why, table.sources),
    ];
  }

  /** @param {string} title @param {Node[]} parts */
  function show(title, parts) {
    if (!box) {
      box = HB.make("section", {
        class: "hb-why md-typeset",
        role: "dialog",
        "aria-labelledby": "hb-why-title",
      });
      box.tabIndex = -1;
      box.addEventListener("keydown", (event) => {
        if (event.key === "Escape") close();
      });
      document.body.append(box);
    }
    const head = HB.make("h2", { id: "hb-why-title" }, `Why ${title}?`);
    const shut = HB.button("Close", close, "hb-shut");
    box.replaceChildren(shut, head, ...parts);
    HB.textsInUS(box);
    box.hidden = false;
    box.scrollTop = 0;
    box.focus();
  }

  function close() {
    if (box) box.hidden = true;
    if (asker) asker.focus();
  }

  /** @param {HTMLElement} node @param {string} title @param {(why: HB.Why) => Node[]} told */
  function ask(node, title, told) {
    asker = node;
    HB.load("assets/why-data.js", () => HB.why)
      .then(() => show(title, told(HB.why)))
      .catch(() =>
        show(title, [
          HB.make(
            "p",
            {},
            "The file assets/why-data.js is not beside the pages. Copy the whole folder of the site.",
          ),
        ]),
      );
  }

  /** @param {HTMLElement} figure */
  function askFigure(figure) {
    const asked = figure.getAttribute("data-why") || "";
    ask(figure, (figure.textContent || "").trim(), (why) => {
      const mine = HB.ownWhy && HB.ownWhy(asked);
      const known = mine ? { ...why.figures[asked], ...mine, working: [] } : why.figures[asked];
      return known ? ofFigure(why, known) : ofValue(why, asked.replace(/^value /, ""));
    });
  }

  /** @param {HTMLElement} node @param {Element} section */
  function askTable(node, section) {
    const id = section.id.replace(/^table-/, "");
    const cell = node.closest("td");
    const row = cell && cell.parentElement && cell.parentElement.querySelector("th");
    const title = cell ? (cell.textContent || "").trim() : "these numbers";
    ask(node, title, (why) => ofTable(why, id, row ? (row.textContent || "").trim() : ""));
  }

  for (const figure of /** @type {NodeListOf<HTMLElement>} */ (
    document.querySelectorAll(".hb-value[data-why]")
  )) {
    if (figure.closest(`${FOCUS}, summary, label, svg`)) continue;
    figure.tabIndex = 0;
    figure.setAttribute("role", "button");
    figure.addEventListener("click", () => askFigure(figure));
    figure.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      askFigure(figure);
    });
  }
  for (const section of document.querySelectorAll(".hb-table[data-why]")) {
    const foot = section.querySelector(".hb-foot");
    const button = HB.button("Why these numbers?", () => askTable(button, section), "hb-ask");
    if (foot) foot.prepend(button, words(" "));
    for (const cell of /** @type {NodeListOf<HTMLElement>} */ (section.querySelectorAll("td.n"))) {
      cell.addEventListener("click", () => {
        if (!String(window.getSelection())) {
          cell.tabIndex = -1;
          askTable(cell, section);
        }
      });
    }
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
