/* Why is a number what it is? Touch it, or reach it with the tab key and press enter. What is told is in why-data.js,
   which is loaded when somebody first asks. */

(function (HB) {
  "use strict";

  const config = document.getElementById("__config");
  const base = new URL(`${JSON.parse((config && config.textContent) || "{}").base || "."}/`, location.href);
  const FOCUS = "a[href], button";

  /** @type {Promise<any> | null} */
  let data = null;
  /** @type {HTMLElement | null} */
  let box = null;
  /** @type {HTMLElement | null} */
  let asker = null;

  function ready() {
    data =
      data ||
      new Promise((done, failed) => {
        const script = document.createElement("script");
        script.src = new URL("assets/why-data.js", base).href;
        script.onload = () => done(HB.why);
        script.onerror = () => failed(new Error("missing"));
        document.head.append(script);
      });
    return data;
  }

  /** @param {string} tag @param {string} [text] @param {Node[]} [inside] */
  function made(tag, text, inside) {
    const node = document.createElement(tag);
    if (text) node.textContent = text;
    node.append(...(inside || []));
    return node;
  }

  /** @param {string} text @param {string} address */
  function link(text, address) {
    const node = /** @type {HTMLAnchorElement} */ (made("a", text));
    node.href = new URL(address, base).href;
    return node;
  }

  /** @param {string} title @param {Node[]} items */
  function part(title, items) {
    return items.length
      ? [
          made("h3", title),
          made(
            "ul",
            "",
            items.map((item) => made("li", "", [item])),
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
    const button = made("button", key);
    button.addEventListener("click", () => show(told.text, ofValue(why, key)));
    const line = made("span", "", [button, words(` ${told.text}`)]);
    return line;
  }

  /** @param {HB.Why} why @param {string[]} keys */
  const values = (why, keys) =>
    part(
      "House values",
      keys.map((key) => value(why, key)),
    );

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

  /** @param {HB.Why} why @param {HB.WhyFigure} figure @returns {Node[]} */
  function ofFigure(why, figure) {
    const inputs = figure.inputs.map(([about, text, key]) => {
      const line = made("span", `${about}: ${text}`);
      if (key) line.append(words(", house value "), made("code", key));
      return line;
    });
    return [
      made("p", `${figure.about}${figure.refused ? `: refused: ${figure.refused}` : ""}.`),
      ...formulas(why, [figure.calculation]),
      ...part("From", inputs),
      ...part(
        "Worked out",
        figure.working.map((line) => made("code", line)),
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
      made("p", "", [
        link(key, `${why.pages.house}#house-${key}`),
        words(`: ${told.about}. ${rests}${told.why}`),
      ]),
      made("p", `Allowed: ${told.allowed}. Set in ${told.place}.`),
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
      made("p", cell ? `${table.title}: ${cell}.` : `${table.title}.`),
      ...formulas(why, table.calculations),
      ...values(why, table.values),
      ...cited(why, table.sources),
    ];
  }

  /** @param {string} title @param {Node[]} parts */
  function show(title, parts) {
    if (!box) {
      box = made("section");
      box.className = "hb-why md-typeset";
      box.setAttribute("role", "dialog");
      box.setAttribute("aria-labelledby", "hb-why-title");
      box.tabIndex = -1;
      box.addEventListener("keydown", (event) => {
        if (event.key === "Escape") close();
      });
      document.body.append(box);
    }
    const head = made("h2", `Why ${title}?`);
    head.id = "hb-why-title";
    const shut = made("button", "Close");
    shut.className = "hb-shut";
    shut.addEventListener("click", close);
    box.replaceChildren(shut, head, ...parts);
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
    ready()
      .then((why) => show(title, told(why)))
      .catch(() =>
        show(title, [
          made(
            "p",
            "The file assets/why-data.js is not beside the pages. Copy the whole folder of the site.",
          ),
        ]),
      );
  }

  /** @param {HTMLElement} figure */
  function askFigure(figure) {
    const asked = figure.getAttribute("data-why") || "";
    ask(figure, (figure.textContent || "").trim(), (why) => {
      const known = why.figures[asked];
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
    const button = made("button", "Why these numbers?");
    button.className = "hb-ask";
    button.addEventListener("click", () => askTable(button, section));
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
