/* Rows as a grid of fields: each column's unit stands in its head, a cell may carry another. */

(function (HB) {
  "use strict";

  /** @param {HTMLElement} holder the fieldset that holds the table @param {HB.Input} input */
  HB.grid = function (holder, input) {
    const table = HB.one("table", holder);
    const body = HB.one("tbody", table);
    const pattern = body.rows[0].cloneNode(true);
    const told = HB.make("span", { class: "hb-done", role: "status" });
    const add = HB.button("Add a row", () => {
      addRow([]);
      cellsOf(lastRow())[0].focus();
      touched();
    });
    const tools = HB.make("p", { class: "hb-tools" });
    tools.append(add, told);
    table.after(tools);
    HB.one("thead tr", table).append(HB.make("td", { class: "hb-remove" }));

    /* What each cell was given as, and how it stands: where the reader's unit of a column is another, in that. */
    /** @type {WeakMap<HTMLInputElement, [given: string, shown: string]>} */
    const texts = new WeakMap();
    /** @param {HB.Input} column */
    const unitOf = ({ unit }) => (unit ? HB.readersUnit(unit) : unit);
    /** @param {HTMLInputElement} cell @param {HB.Input} column @param {string} text */
    function put(cell, column, text) {
      cell.value = HB.prefersUS() ? HB.cellInUS(column, text) : text;
      texts.set(cell, [text, cell.value]);
    }
    /** @param {HB.Input} column @param {string} text */
    const typed = (column, text) => (HB.prefersUS() ? HB.cellFromUS(column, text) : text);
    /** @param {HTMLInputElement} cell @param {number} j */
    function given(cell, j) {
      const [text, shown] = texts.get(cell) || ["", null];
      return cell.value === shown ? text : typed(input.columns[j], cell.value);
    }

    function rows() {
      return Array.from(body.rows);
    }
    function lastRow() {
      return body.rows[body.rows.length - 1];
    }
    /** @param {HTMLElement} row @returns {HTMLInputElement[]} */
    function cellsOf(row) {
      return HB.all("input", row);
    }
    function touched() {
      holder.dispatchEvent(new Event("input", { bubbles: true }));
    }

    /** @param {string[]} cells */
    function addRow(cells) {
      const row = /** @type {HTMLTableRowElement} */ (pattern.cloneNode(true));
      cellsOf(row).forEach((cell, j) => {
        put(cell, input.columns[j], cells[j] || "");
        cell.disabled = false; // as the page was printed, for where no script runs
      });
      body.append(row);
      arm(row);
      number();
    }

    /** @param {HTMLTableRowElement} row */
    function arm(row) {
      const remove = HB.button("×", () => {
        const at = rows().indexOf(row);
        if (body.rows.length === 1)
          cellsOf(row).forEach((cell) => {
            cell.value = "";
          });
        else row.remove();
        number();
        HB.one("button", body.rows[Math.min(at, body.rows.length - 1)]).focus();
        touched();
      });
      const place = row.insertCell();
      place.className = "hb-remove";
      place.append(remove);
    }

    function number() {
      rows().forEach((row, i) => {
        row.cells[0].textContent = String(i + 1);
        cellsOf(row).forEach((cell, j) => {
          const column = input.columns[j];
          const label = column.unit ? HB.label(unitOf(column)) : "";
          cell.setAttribute("aria-label", `row ${i + 1}: ${column.about}${label ? `, ${label}` : ""}`);
        });
        HB.one("button", row).setAttribute("aria-label", `Remove row ${i + 1}`);
      });
      add.disabled = body.rows.length >= input.most;
      told.textContent = add.disabled ? `${input.most} rows are the most` : "";
    }

    /** @param {string[][]} cells */
    function fill(cells) {
      if (HB.headsInUS) HB.headsInUS(input, HB.all("thead th", table), HB.all("[data-head]", pattern));
      body.textContent = "";
      const last = input.columns.length - 1; // what is too much stands there, to be mended
      for (const row of cells.length ? cells : [[]])
        addRow([...row.slice(0, last), row.slice(last).join("; ")]);
    }

    /* A pasted table goes in from the cell it was pasted into, whole or not at all. */
    holder.addEventListener("paste", (event) => {
      const text = event.clipboardData ? event.clipboardData.getData("text") : "";
      const target = /** @type {HTMLElement} */ (event.target);
      const row = target.closest("tr");
      if (!row || !/[\t;]|\n\s*\S/.test(text.trim())) return;
      event.preventDefault();
      const pasted = HB.cells(text);
      const down = rows().indexOf(row);
      const right = cellsOf(row).indexOf(/** @type {HTMLInputElement} */ (target));
      const wide = Math.max(...pasted.map((line) => line.length));
      if (right + wide > input.columns.length) {
        told.textContent = `nothing was pasted: the text has ${wide} columns, and ${input.columns.length - right} fit here`;
        return;
      }
      if (down + pasted.length > input.most) {
        told.textContent = `nothing was pasted: the text has ${pasted.length} rows, and ${input.most - down} fit here`;
        return;
      }
      while (body.rows.length < down + pasted.length) addRow([]);
      pasted.forEach((line, i) => {
        const cells = cellsOf(body.rows[down + i]);
        const ours = line.map((text, j) => typed(input.columns[right + j], text));
        const under = HB.underUnits(input, [[...cells.slice(0, right).map(() => ""), ...ours]])[0];
        for (let j = right; j < right + line.length; j += 1) put(cells[j], input.columns[j], under[j]);
      });
      told.textContent = `${pasted.length} rows pasted`;
      touched();
    });

    /* Up and down as in any table; Enter goes to the next row, and begins one at the end. */
    holder.addEventListener("keydown", (event) => {
      const target = /** @type {HTMLElement} */ (event.target);
      const row = target.closest("tr");
      const step = { ArrowDown: 1, Enter: 1, ArrowUp: -1 }[event.key];
      if (!row || !step || target.tagName !== "INPUT") return;
      event.preventDefault();
      const next = rows().indexOf(row) + step;
      if (next === body.rows.length && event.key === "Enter" && !add.disabled) addRow([]);
      if (body.rows[next])
        cellsOf(body.rows[next])[cellsOf(row).indexOf(/** @type {HTMLInputElement} */ (target))].focus();
    });

    // As the page was printed, whatever the browser put back.
    for (const row of rows()) {
      const cells = cellsOf(row);
      for (const [j, column] of input.columns.entries()) put(cells[j], column, cells[j].defaultValue);
    }
    rows().forEach(arm);
    number();

    return {
      cells: () => rows().map((row) => cellsOf(row).map(given)),
      fill,
      /** @param {HB.CellFault[]} faults */
      mark(faults) {
        rows().forEach((row, i) => {
          cellsOf(row).forEach((cell, j) => {
            const wrong = faults.some((fault) => fault.row === i && fault.column === j);
            cell.setAttribute("aria-invalid", String(wrong));
          });
        });
      },
    };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
