/* A file of house values as text: where each value stands, and other values put in their places. Everything else,
   comments too, stays as it was to the letter. Knows no page, so that the tests run it beside a reader of YAML.

   Read is what the standard is written in: one 'key: value' a line, sections by their indent, comments above. What
   is written otherwise is refused, and nothing is changed. */

(function (HB) {
  "use strict";

  const KEY = /^( *)(["']?)([\p{L}\p{N}_-]+)\2[ \t]*:(?=[ \t]|$)[ \t]*/u;
  const WIDTH = 100;

  /** The lines of a text with their places; the sign that ends a line is no part of it.
   * @param {string} text */
  function linesOf(text) {
    const found = [];
    const each = /([^\r\n]*)(\r\n|\n|\r|$)/g;
    for (let at = 0; at <= text.length; at = each.lastIndex) {
      each.lastIndex = at;
      const line = /** @type {RegExpExecArray} */ (each.exec(text));
      found.push({ text: line[1], start: at });
      if (!line[2]) break;
    }
    return found;
  }

  /** The length of what stands before a comment behind it, and whether it goes on in other lines.
   * @param {string} rest @returns {[number, boolean]} */
  function extent(rest) {
    const closed = { '"': /^"(?:[^"\\]|\\.)*"/, "'": /^'(?:[^']|'')*'/, "[": /^\[[^\]]*\]/ };
    const sign = /** @type {'"' | "'" | "["} */ (rest[0]);
    if (closed[sign]) {
      const whole = closed[sign].exec(rest);
      return whole
        ? [whole[0].length, !/^\s*(?:#.*)?$/.test(rest.slice(whole[0].length))]
        : [rest.length, true];
    }
    const comment = rest.search(/(?:^|\s)#/);
    const plain = (comment < 0 ? rest : rest.slice(0, comment)).trimEnd();
    return [plain.length, /^[|>&*!{%@`]/.test(plain)];
  }

  /** What a value says without its quotes.
   * @param {string} written */
  function said(written) {
    if (written.startsWith('"')) {
      try {
        return JSON.parse(written);
      } catch (problem) {
        return written;
      }
    }
    return written.startsWith("'") ? written.slice(1, -1).replace(/''/g, "'") : written;
  }

  HB.entriesOf = function (text) {
    /** @type {Map<string, HB.Entry>} */
    const found = new Map();
    /** @type {{indent: number, path: string}[]} */
    const above = [];
    /** @type {HB.Entry | null} */
    let last = null;
    linesOf(text).forEach((line, number) => {
      const bare = line.text.replace(/^\ufeff/, "");
      if (!bare.trim() || bare.trim().startsWith("#")) return;
      const key = KEY.exec(bare);
      if (!key) {
        if (last) last.odd = true; // it goes on here, or is written in a way that is not read
        return;
      }
      const indent = key[1].length;
      while (above.length && above[above.length - 1].indent >= indent) above.pop();
      const path = above.length ? `${above[above.length - 1].path}.${key[3]}` : key[3];
      const rest = bare.slice(key[0].length);
      const [length, odd] = extent(rest);
      const from = line.start + line.text.length - rest.length;
      const value = said(rest.slice(0, length));
      const end = line.start + line.text.length;
      last = { line: number + 1, from, to: from + length, end, start: line.start, indent, value, odd };
      if (found.has(path)) last.odd = true; // twice: nobody knows which counts
      found.set(path, last);
      above.push({ indent, path });
    });
    return found;
  };

  /** @param {string} text */
  HB.scalar = function (text) {
    if (/^\[[^\]]*\]$/.test(text)) return text;
    const plain = /^[^\s\-?:,[\]{}#&*!|>'"%@`](?:[^\r\n]*[^\s:])?$/u.test(text) && !/: |\s#|\t/.test(text);
    return plain || /^-?\d[^#:]*$/.test(text) ? text : JSON.stringify(text);
  };

  /** @param {string} reason @param {number} indent @param {string} newline */
  function comment(reason, indent, newline) {
    const before = `${" ".repeat(indent)}# `;
    const lines = [""];
    for (const word of reason.split(/\s+/).filter(Boolean)) {
      const now = lines[lines.length - 1];
      if (now && before.length + now.length + word.length >= WIDTH) lines.push(word);
      else lines[lines.length - 1] = now ? `${now} ${word}` : word;
    }
    return lines.map((line) => before + line + newline).join("");
  }

  /** Where the comment right above a line begins.
   * @param {string} text @param {number} start */
  function commentStart(text, start) {
    const lines = linesOf(text.slice(0, start)).slice(0, -1);
    let from = start;
    for (const line of lines.reverse()) {
      if (!line.text.trim().startsWith("#")) break;
      from = line.start;
    }
    return from;
  }

  /** @param {string} text @param {HB.Entry} entry @param {HB.Written} written @param {string} newline */
  function replaced(text, entry, written, newline) {
    const value = HB.scalar(written.text);
    if (!written.reason) return text.slice(0, entry.from) + value + text.slice(entry.to);
    const head = text.slice(0, commentStart(text, entry.start));
    const reason = comment(written.reason, entry.indent, newline);
    return head + reason + text.slice(entry.start, entry.from) + value + text.slice(entry.end);
  }

  /** @param {string} text @param {Map<string, HB.Entry>} entries @param {HB.Written} written @param {string} newline */
  function added(text, entries, written, newline) {
    const parts = written.key.split(".");
    let depth = parts.length - 1;
    while (depth > 0 && !entries.has(parts.slice(0, depth).join("."))) depth -= 1;
    const section = parts.slice(0, depth).join(".");
    const inside = [...entries].filter(([path]) => path.startsWith(`${section}.`)).map(([, entry]) => entry);
    const parent = entries.get(section);
    let indent = 0;
    if (parent) {
      const children = [...entries].filter(
        ([path]) => path.startsWith(`${section}.`) && !path.slice(section.length + 1).includes("."),
      );
      indent = children.length ? children[0][1].indent : parent.indent + 2;
    }
    const last = inside.length ? inside[inside.length - 1] : parent;
    const at = last ? last.end : text.length;
    const unended = text && !/[\r\n]$/.test(text);
    const before = last ? newline : `${unended ? newline : ""}${text ? newline : ""}`;
    let lines = "";
    parts.slice(depth, -1).forEach((part, i) => {
      lines += `${" ".repeat(indent + 2 * i)}${part}:${newline}`;
    });
    const deep = indent + 2 * (parts.length - 1 - depth);
    if (written.reason) lines += comment(written.reason, deep, newline);
    lines += `${" ".repeat(deep)}${parts[parts.length - 1]}: ${HB.scalar(written.text)}`;
    const after = last ? "" : newline;
    return text.slice(0, at) + before + lines + after + text.slice(at);
  }

  HB.patched = function (text, changes) {
    const newline = /\r\n/.test(text) ? "\r\n" : "\n";
    const before = HB.entriesOf(text);
    let result = text;
    for (const written of changes) {
      const entries = HB.entriesOf(result);
      const entry = entries.get(written.key);
      const section = written.key.split(".");
      const odd = section
        .map((part, i) => entries.get(section.slice(0, i + 1).join(".")))
        .find((one) => one && one.odd);
      if (odd) {
        return {
          text,
          fault: `line ${odd.line}: ${written.key} is written in a way that is not changed here; change it by hand`,
        };
      }
      result = entry ? replaced(result, entry, written, newline) : added(result, entries, written, newline);
    }
    return { text: result, fault: unsound(before, HB.entriesOf(result), changes) };
  };

  /** What is not as it must be after a change: every other value, and the changed ones.
   * @param {Map<string, HB.Entry>} before @param {Map<string, HB.Entry>} after @param {HB.Written[]} changes */
  function unsound(before, after, changes) {
    const wanted = new Map(changes.map(({ key, text }) => [key, said(HB.scalar(text))]));
    for (const [key, text] of wanted) {
      const now = after.get(key);
      if (!now || now.value !== text) return `${key} would not read as ${text}; change it by hand`;
    }
    for (const [key, entry] of before) {
      const now = after.get(key);
      if (!wanted.has(key) && (!now || now.value !== entry.value))
        return `${key} would change too; change it by hand`;
    }
    return "";
  }
})((window.HB = window.HB || /** @type {any} */ ({})));
