/* What a phone asks of tables: which of them fit, and in which unit a card names its columns. Without this
   script tables scroll in their own boxes, and cards name their columns in metric units. */

(function (HB) {
  "use strict";

  const boxes = [...document.querySelectorAll(".hb-scroll")];

  /* A table that is far below is not laid out yet, and to measure it would have it laid out: it waits until the
     reader comes near. Where a browser cannot tell of that, none waits. */
  /** @type {Set<Element>} */
  const far = new Set(window.IntersectionObserver ? boxes : []);
  const watch = far.size
    ? new IntersectionObserver(
        (entries) => {
          const near = entries.filter((entry) => entry.isIntersecting).map((entry) => entry.target);
          for (const box of near) {
            far.delete(box);
            watch?.unobserve(box);
          }
          fit(near);
          // A row that the address names stood in a box that scrolled, and stands on the page now.
          for (const box of near) if (box.matches(".hb-fits")) box.querySelector(":target")?.scrollIntoView();
        },
        { rootMargin: "50%" },
      )
    : null;

  /* A box that need not scroll is none: its head stays on the page, and the keyboard does not stop at it.
     All are measured before any is changed: after a change the page is laid out anew. */
  /** @param {Element[]} some */
  function fit(some) {
    const fitting = some.map((box) => box.scrollWidth <= box.clientWidth);
    for (const [i, box] of some.entries()) {
      box.classList.toggle("hb-fits", fitting[i]);
      if (fitting[i]) box.removeAttribute("tabindex");
      else box.setAttribute("tabindex", "0");
    }
  }

  function measure() {
    // The theme wraps tables that were written in Markdown; its boxes come late, so they are looked for each time.
    const others = [...document.querySelectorAll("pre > code, .md-typeset__scrollwrap")];
    for (const box of others.filter((one) => one.scrollWidth > one.clientWidth)) box.setAttribute("tabindex", "0");
    fit(boxes.filter((box) => !far.has(box)));
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

  /* Beside each cell of a card stands its column's head: in US units as the head says it then. */
  /** @type {Map<HTMLElement, string>} */
  const printed = new Map();

  function name() {
    for (const [cell, head] of printed) cell.dataset.head = head;
    printed.clear();
    if (!HB.prefersUS()) return;
    for (const table of document.querySelectorAll('table[data-phone="cards"]')) {
      const named = heads(/** @type {HTMLTableElement} */ (table));
      for (const row of /** @type {HTMLTableElement} */ (table).tBodies[0].rows)
        [...row.cells].forEach((cell, i) => {
          if (!cell.dataset.head || !named[i]) return;
          printed.set(cell, cell.dataset.head);
          cell.dataset.head = named[i];
        });
    }
  }

  document.addEventListener("hb-turned", () => {
    name();
    measure();
  });
  document.addEventListener("toggle", measure, true);
  window.addEventListener("resize", measure);
  // Not before the page is there: to measure a table has it laid out.
  window.addEventListener("load", () =>
    window.setTimeout(() => {
      measure();
      for (const box of far) watch?.observe(box);
    }, 0),
  );
  HB.measureTables = measure;
})((window.HB = window.HB || /** @type {any} */ ({})));
