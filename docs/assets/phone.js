/* What a phone asks of tables: which of them fit, and in which unit a card names its columns. Without this
   script tables scroll in their own boxes, and cards name their columns in metric units. */

(function (HB) {
  "use strict";

  const boxes = [...document.querySelectorAll(".hb-scroll")];

  /* A box that need not scroll is none: its head stays on the page, and the keyboard does not stop at it. */
  function measure() {
    // The theme wraps tables that were written in Markdown; its boxes come late, so they are looked for each time.
    // All are measured before any is changed: after a change the page is laid out anew.
    const others = [...document.querySelectorAll("pre > code, .md-typeset__scrollwrap")];
    const wide = others.filter((box) => box.scrollWidth > box.clientWidth);
    const fitting = boxes.map((box) => box.scrollWidth <= box.clientWidth);
    for (const box of wide) box.setAttribute("tabindex", "0");
    for (const [i, box] of boxes.entries()) {
      const fits = fitting[i];
      box.classList.toggle("hb-fits", fits);
      if (fits) box.removeAttribute("tabindex");
      else box.setAttribute("tabindex", "0");
    }
  }

  /** The names of a table's columns in one line, as its head says them. @param {HTMLTableElement} table */
  function heads(table) {
    const [above, below] = [...(table.tHead ? table.tHead.rows : [])];
    const under = below ? [...below.cells] : [];
    return [...(above ? above.cells : [])].flatMap((head) => {
      const [, said, unit] = /^(.*?)(?:\s*\(cells in (.*)\))?$/.exec(words(head)) || [];
      const rest = unit ? ` (${unit})` : "";
      return head.scope === "colgroup"
        ? under.splice(0, head.colSpan).map((cell) => `${said}: ${words(cell)}${rest}`)
        : [said];
    });
  }

  /** @param {Element} cell */
  const words = (cell) => (cell.textContent || "").trim();

  function name() {
    for (const table of document.querySelectorAll('table[data-phone="cards"][data-scales]')) {
      const named = heads(/** @type {HTMLTableElement} */ (table));
      for (const row of /** @type {HTMLTableElement} */ (table).tBodies[0].rows)
        [...row.cells].forEach((cell, i) => {
          if (cell.dataset.head && named[i]) cell.dataset.head = named[i];
        });
    }
  }

  document.addEventListener("hb-units", () => {
    name();
    measure();
  });
  document.addEventListener("toggle", measure, true);
  window.addEventListener("resize", measure);
  // Not before the page is there: to measure a table has it laid out.
  window.addEventListener("load", () => window.setTimeout(measure, 0));
  name();
  HB.measureTables = measure;
})((window.HB = window.HB || /** @type {any} */ ({})));
