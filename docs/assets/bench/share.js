/* A filled calculator as text to copy, and as an address to keep, send and print. */

(function (HB) {
  "use strict";

  /* For people: the figure as the field shows it, not the long one behind it. */
  /** @param {HB.Field} field */
  function shown({ input, control, grid, menu, source }) {
    const { unit } = source;
    const text = HB.written({ input, source: { ...source, exact: undefined } });
    if (grid) return HB.prefersUS() ? HB.rowsInUS(text) : text;
    if (text && menu && menu.value !== unit) return `${control.value} ${HB.label(menu.value)}`;
    return unit && text.endsWith(` ${unit}`) ? text.slice(0, -unit.length) + HB.label(unit) : text;
  }

  /** @param {Map<string, HB.Field>} fields */
  function given(fields) {
    const inputs = [];
    for (const [name, field] of fields) {
      const text = shown(field);
      const of = field.example && !field.example.hidden ? ` (${field.example.textContent})` : "";
      if (text) inputs.push(`${name.replace(/_/g, " ")} ${text}${of}`);
    }
    return inputs.join(", ");
  }

  /* On paper a calculator is one line: its question, what was given, the answer. */
  HB.inPrint = function (box) {
    const line = box.querySelector(".hb-calc-given");
    if (line && HB.isStarted(box)) line.textContent = given(HB.calculatorOf(box).fields);
  };

  HB.asText = function ({ declared, fields, bench }) {
    const said = bench.querySelector(".hb-said");
    /** @param {HB.Result} result */
    const shown = (result) => HB.one(`[data-result="${result.name}"] dd`, bench).innerText.trim();
    const results = said
      ? [said.textContent]
      : declared.results.map((result) => `${result.about}: ${shown(result).replace(/\s*\n\s*/g, "; ")}`);
    const share = bench.querySelector(".hb-answer > .hb-spread");
    if (share) results.push(share.textContent);
    return `${declared.title} | ${given(fields)} | ${results.join("; ")} | ${HB.pieceName() ? `piece ${HB.pieceName()} | ` : ""}edition ${HB.edition}`;
  };

  HB.address = function ({ box, fields }) {
    const parts = [];
    for (const [name, field] of fields) {
      const text = HB.written(field);
      if (text || HB.isTyped(field)) parts.push(`${name}=${encodeURIComponent(text)}`);
    }
    return `#${box.id}?${parts.join("&")}`;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
