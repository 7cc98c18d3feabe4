/* The calculators' hands: they read fields, check them by the declared limits, call the generated
   formulas and print what comes back. No formula stands here; those are in calculations.js, made from
   the Python functions, and every limit, unit and sentence is in calculations-data.js. */

(function (root) {
  "use strict";

  var HB = root.HB = root.HB || {};
  var NO_BREAK = "\u00a0";

  /* ---- numbers and units ---- */

  HB.asGiven = function (number) {
    var parts = HB.figures.significant(number, 7).split("×");
    if (parts[0].indexOf(".") >= 0) parts[0] = parts[0].replace(/0+$/, "").replace(/\.$/, "");
    return parts.join("×");
  };

  HB.label = function (unit) {
    if (unit === "text" || unit === "rows") return "";
    return HB.units[unit] ? HB.units[unit][3] : unit;
  };

  HB.show = function (number, unit, digits) {
    var text = digits ? HB.figures.significant(number, digits) : HB.asGiven(number);
    var label = HB.label(unit);
    return label ? text + NO_BREAK + label : text;
  };

  HB.convert = function (number, from, to) {
    if (from === to) return number;
    var a = HB.units[from], b = HB.units[to];
    return HB.figures.rescale(number, a[1], a[2], b[1], b[2]);
  };

  function sameKind(a, b) {
    return a === b || (HB.units[a] && HB.units[b] && HB.units[a][0] === HB.units[b][0]);
  }

  /* ---- the same checks, in the same words, as in Python ---- */

  function refusal(message) { return {message: message}; }

  function complaint(declared, value) {
    var i, text;
    switch (declared.form) {
      case "quantity":
      case "count":
      case "reading":
        if (typeof value !== "number") return "is not a number; allowed is " + declared.allowed;
        var size = declared.form === "reading" ? Math.abs(value) : value;
        var slack = 1e-12 * Math.max(Math.abs(declared.low), Math.abs(declared.high));
        if (!(declared.low - slack <= size && size <= declared.high + slack)) {
          return "is out of range; allowed is " + declared.allowed + (declared.why ? " (" + declared.why + ")" : "");
        }
        if (declared.form === "count" && value !== Math.floor(value)) {
          return "is not a whole number; allowed is " + declared.allowed;
        }
        return "";
      case "choice":
        return HB.lists[declared.options].indexOf(value) >= 0 ? ""
          : "is not a known " + declared.kind + "; allowed is one of " + declared.allowed;
      case "several":
        for (i = 0; i < value.length; i += 1) {
          if (HB.lists[declared.options].indexOf(value[i]) < 0) {
            return "is not a known " + declared.kind + "; allowed is one of " + declared.allowed;
          }
          if (value.indexOf(value[i]) !== i) return "names one entry twice; allowed is " + declared.allowed;
        }
        return value.length < declared.least ? "needs at least " + declared.least + " of " + declared.allowed : "";
      case "yesno":
        return typeof value === "boolean" ? "" : "is neither; allowed is yes or no";
      case "rows":
        if (value.length < declared.least || value.length > declared.most) {
          return "has " + value.length + " rows; allowed is " + declared.allowed;
        }
        for (i = 0; i < value.length; i += 1) {
          for (var j = 0; j < declared.columns.length; j += 1) {
            if (value[i][j] === null && declared.columns[j].optional) continue;
            text = complaint(declared.columns[j], value[i][j]);
            if (text) return "has in row " + (i + 1) + " " + declared.columns[j].name + " = " + value[i][j] + ", which " + text;
          }
        }
        return "";
      default:
        return "";
    }
  }

  function shownValue(declared, value) {
    if (value === null) return "none";
    switch (declared.form) {
      case "quantity": return HB.show(value, declared.unit, 0);
      case "count": return String(value);
      case "reading":
        return value < 0 ? "below " + HB.show(-value, declared.unit, 0) : HB.show(value, declared.unit, 0);
      case "several": return value.join(", ");
      case "yesno": return value ? "yes" : "no";
      case "rows":
        return value.map(function (row) {
          return row.map(function (cell, i) {
            return cell === null ? "" : shownValue(declared.columns[i], cell);
          }).filter(Boolean).join(" ");
        }).join("; ");
      default: return String(value);
    }
  }

  /* Check the values of a calculation in order and run its formula; throws what Python would raise. */
  HB.guarded = function (name, values) {
    var declared = HB.declared[name];
    declared.inputs.forEach(function (input, i) {
      if (values[i] === null && input.optional) return;
      var text = complaint(input, values[i]);
      if (text) {
        throw {bad: name + ": " + input.name + " = " + shownValue(input, values[i]) + " " + text + ": " + input.about,
               argument: input.name, text: text};
      }
    });
    try {
      return HB.kernels[name].apply(null, values);
    } catch (problem) {
      if (problem.refused && !problem.sentence) {
        var given = {};
        declared.inputs.forEach(function (input, i) { given[input.name] = shownValue(input, values[i]); });
        problem.sentence = fill(declared.refusals[problem.refused], given, problem.figures);
      }
      throw problem;
    }
  };

  function finite(value) {
    if (typeof value === "number") return isFinite(value);
    if (value && typeof value === "object") return Object.keys(value).every(function (key) { return finite(value[key]); });
    return value !== undefined;
  }

  /* Run a calculation on an object of values; returns its results by name. */
  HB.run = function (name, byName) {
    var declared = HB.declared[name];
    var values = declared.inputs.map(function (input) {
      var value = byName[input.name];
      return value === undefined ? null : value;
    });
    var raw = HB.guarded(name, values);
    if (!finite(raw)) throw {refused: "no-result", sentence: HB.none};
    if (declared.results.length > 1) return raw;
    var single = {};
    single[declared.results[0].name] = raw;
    return single;
  };

  function fill(sentence, given, figures) {
    return sentence.replace(/\{(\w+)(?: ([^}]+))?\}/g, function (all, name, unit) {
      if (!/^\d+$/.test(name)) return given[name];
      var figure = figures[Number(name)];
      if (typeof figure === "string") return figure;
      return HB.show(figure, unit || "1", Number.isInteger(figure) ? 0 : 3);
    });
  }

  function sentencesOf(result, value, given) {
    return value.map(function (entry) { return fill(result.sentences[entry[0]], given, entry.slice(1)); });
  }

  /* A result as text in its declared unit, the words of Python's own. */
  HB.shownResult = function (result, value, given) {
    if (value === null || value === undefined) return result.without || "none";
    switch (result.kind) {
      case "figure": return HB.show(value, result.unit, result.digits);
      case "whole": return String(value);
      case "reasons": return sentencesOf(result, value, given).join(" ") || "none";
      case "listing":
        return value.map(function (row) {
          return row.map(function (cell, i) { return HB.shownResult(result.columns[i], cell); }).join(" ");
        }).join("; ");
      default: return String(value);
    }
  };

  /* Inputs and results as sentences may name them; an input goes before a result of the same name. */
  HB.given = function (name, byName, results) {
    var declared = HB.declared[name], given = {};
    declared.results.forEach(function (result) {
      if (result.kind !== "reasons" && result.kind !== "listing") given[result.name] = HB.shownResult(result, results[result.name]);
    });
    declared.inputs.forEach(function (input) {
      given[input.name] = shownValue(input, byName[input.name] === undefined ? null : byName[input.name]);
    });
    return given;
  };

  HB.sentence = function (result, value, given) { return fill(result.words[value], given, []); };
  HB.sentences = sentencesOf;

  /* ---- reading what a person typed ---- */

  var NUMBER = /^\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$/;
  var SPELLINGS = [["°", "deg"], ["µ", "u"], ["μ", "u"], ["²", "^2"], ["³", "^3"], ["·", "*"]];

  function normalUnit(unit) {
    SPELLINGS.forEach(function (pair) { unit = unit.split(pair[0]).join(pair[1]); });
    return unit.replace(/^C$/, "degC").replace(/^F$/, "degF");
  }

  var RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

  /* 1×10⁻⁹, as the pages print it, is read as 1e-9; a typographic minus as a hyphen. */
  function plainPowers(text) {
    return text.replace(/−/g, "-").replace(/\s*[×x]\s*10(⁻?)([⁰¹²³⁴⁵⁶⁷⁸⁹]+)/g, function (all, minus, power) {
      return "e" + (minus ? "-" : "") + power.replace(/./g, function (sign) { return RAISED.indexOf(sign); });
    });
  }

  function typed(number) { return plainPowers(HB.asGiven(number)); }

  /* `chosen` is the unit beside the field; empty where there is none to choose, as in a row. */
  function readNumber(declared, text, chosen) {
    var found = NUMBER.exec(plainPowers(text));
    if (!found) throw refusal("is not a number; write a decimal point and no thousands separator");
    if (!found[2] && chosen === "" && declared.unit !== "1" && declared.unit !== "%") {
      throw refusal("has no unit; write for example '" + Number(found[1]) + " " + declared.unit + "'");
    }
    var unit = found[2] ? normalUnit(found[2]) : chosen || declared.unit;
    if (/^(oz|ounces?)$/.test(unit)) throw refusal("is ambiguous, 'oz' can be three units: choose the unit beside the field");
    if (declared.unit.indexOf("delta_") === 0 && /^deg[CF]$/.test(unit)) unit = "delta_" + unit;
    if (!sameKind(unit, declared.unit)) {
      throw refusal("is in '" + found[2] + "', which does not convert to '" + declared.unit + "'");
    }
    return HB.convert(Number(found[1]), unit, declared.unit);
  }

  function readCell(declared, text, chosen) {
    text = text.trim();
    if (declared.optional && (text === "" || text === "none" || text === "no limit")) return null;
    var value;
    switch (declared.form) {
      case "quantity":
      case "count":
        value = readNumber(declared, text, chosen);
        break;
      case "reading":
        var below = /^(?:below|<)\s*(.+)$/.exec(text);
        value = readNumber(declared, below ? below[1] : text, chosen);
        if (value < 0 || (below && value === 0)) throw refusal("is out of range; allowed is " + declared.allowed);
        if (below) value = -value;
        break;
      case "several":
        value = text.split(",").map(function (part) { return part.trim(); }).filter(Boolean);
        break;
      case "yesno":
        if (text !== "yes" && text !== "no") throw refusal("is neither; allowed is yes or no");
        value = text === "yes";
        break;
      case "rows":
        value = readRows(declared, text);
        break;
      default:
        value = text;
    }
    var wrong = complaint(declared, value);
    if (wrong) throw refusal(wrong);
    return value;
  }
  HB.read = readCell;

  function readRows(declared, text) {
    return text.split(/[;\n]/).filter(function (line) { return line.trim(); }).map(function (line, i) {
      var cells = splitRow(line);
      if (cells.length !== declared.columns.length) {
        throw refusal("has " + cells.length + " entries in row " + (i + 1) + "; allowed is " + declared.allowed);
      }
      return cells.map(function (cell, j) {
        try {
          return readCell(declared.columns[j], cell, "");
        } catch (problem) {
          throw refusal("has in row " + (i + 1) + " " + declared.columns[j].name + " = " + cell + ", which " + problem.message);
        }
      });
    });
  }

  function splitRow(line) {
    if (line.indexOf(",") >= 0) return line.split(",").map(function (cell) { return cell.trim(); });
    var cells = [];
    line.trim().split(/\s+/).forEach(function (part) {
      var follows = cells.length && cells[cells.length - 1] === "below";
      if (cells.length && (follows || !/^([+-]?\.?\d|below|none)/.test(part))) cells[cells.length - 1] += " " + part;
      else cells.push(part);
    });
    return cells;
  }

  if (!root.document) return;

  /* ---- the page ---- */

  var document = root.document;

  function find(selector, within) { return Array.prototype.slice.call((within || document).querySelectorAll(selector)); }

  function make(tag, attributes, text) {
    var node = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (key) { node.setAttribute(key, attributes[key]); });
    if (text !== undefined) node.textContent = text;
    return node;
  }

  function readersUnit(unit) { return HB.prefersUS() && HB.us[unit] || unit; }

  function Calculator(box) {
    var self = this;
    this.box = box;
    this.form = box.querySelector("form");
    this.name = this.form.getAttribute("data-calculation");
    this.declared = HB.declared[this.name];
    this.touched = {};
    this.fields = {};
    this.declared.inputs.forEach(function (input) {
      var control = self.form.querySelector('[data-argument="' + input.name + '"]');
      self.fields[input.name] = {
        input: input,
        control: control,
        unit: control.parentNode.querySelector("[data-unit]"),
        error: document.getElementById(control.id + "-error")
      };
      self.offerUnits(self.fields[input.name]);
    });
    this.tools();
    this.form.addEventListener("submit", function (event) { event.preventDefault(); });
    this.form.addEventListener("input", function (event) { self.changed(event.target); });
    this.form.addEventListener("change", function (event) { self.changed(event.target); });
  }

  Calculator.prototype.offerUnits = function (field) {
    if (!field.unit) return;
    var wanted = field.input.unit;
    Object.keys(HB.units).forEach(function (unit) {
      if (unit !== wanted && unit !== "inch" && sameKind(unit, wanted) && HB.label(unit)) {
        field.unit.appendChild(make("option", {value: unit}, HB.label(unit)));
      }
    });
    if (readersUnit(wanted) !== wanted) this.toUnit(field, readersUnit(wanted));
  };

  Calculator.prototype.toUnit = function (field, unit) {
    var number = Number(field.control.value);
    if (field.control.value.trim() !== "" && isFinite(number)) {
      field.control.value = typed(Number(HB.convert(number, field.unit.value, unit).toPrecision(6)));
    }
    field.unit.value = unit;
  };

  Calculator.prototype.system = function () {
    var self = this;
    Object.keys(this.fields).forEach(function (name) {
      var field = self.fields[name];
      if (!field.unit) return;
      var unit = readersUnit(field.input.unit);
      if (field.unit.value !== unit) self.toUnit(field, unit);
    });
    this.compute();
  };

  Calculator.prototype.changed = function (target) {
    var argument = target.getAttribute("data-argument");
    if (argument) {
      this.touched[argument] = true;
      if (this.fields[argument].input.family) this.followFamily(argument);
    }
    this.compute();
    this.address();
  };

  /* Another entry of the house's list brings its own values, where the reader has not typed others. */
  Calculator.prototype.followFamily = function (argument) {
    var self = this;
    var mark = "{" + argument + "}";
    this.declared.inputs.forEach(function (input) {
      if (!input.house || input.house.indexOf(mark) < 0 || self.touched[input.name]) return;
      var field = self.fields[input.name];
      var value = HB.house[input.house.replace(mark, field ? self.fields[argument].control.value : "")];
      if (value === null || value === undefined) field.control.value = "";
      else if (field.unit) field.control.value = typed(Number(HB.convert(value, input.unit, field.unit.value).toPrecision(7)));
      else field.control.value = shownValue(input, value);
    });
  };

  Calculator.prototype.read = function () {
    var self = this, values = {}, wrong = 0;
    this.declared.inputs.forEach(function (input) {
      var field = self.fields[input.name];
      var message = "";
      try {
        values[input.name] = readCell(input, field.control.value, field.unit ? field.unit.value : undefined);
      } catch (problem) {
        if (!problem.message) throw problem;
        wrong += 1;
        var typed = field.control.value.trim();
        message = typed === "" ? "is missing; allowed is " + input.allowed
          : typed.slice(0, 40) + (field.unit ? " " + HB.label(field.unit.value) : "") + " " + problem.message;
      }
      field.error.textContent = message;
      field.control.setAttribute("aria-invalid", message ? "true" : "false");
    });
    return wrong ? null : values;
  };

  Calculator.prototype.compute = function () {
    var values = this.read();
    if (!values) {
      this.say("Mend the marked field first.", "hb-waiting");
      return null;
    }
    var results;
    HB.steps = {};
    try {
      results = HB.run(this.name, values);
    } catch (problem) {
      if (problem.sentence) this.say(problem.sentence, "hb-refused");
      else if (problem.bad) this.say(problem.bad, "hb-refused");
      else throw problem;
      HB.steps = null;
      return null;
    }
    var steps = HB.steps;
    HB.steps = null;
    this.tell(values, results);
    this.work(values, steps);
    this.draw(values);
    return {values: values, results: results};
  };

  Calculator.prototype.say = function (text, kind) {
    var answer = this.form.querySelector(".hb-answer");
    answer.className = "hb-answer " + kind;
    var said = answer.querySelector(".hb-said") || answer.insertBefore(make("p", {"class": "hb-said"}), answer.firstChild);
    if (said.textContent !== text) said.textContent = text;
    find("dd", answer).forEach(function (node) { node.textContent = "–"; });
    this.box.querySelector(".hb-calc-short").textContent = kind === "hb-refused" ? "refused" : "–";
    find("[data-step]", this.form).forEach(function (item) { item.hidden = true; });
  };

  function inReadersUnit(result, value) {
    if (result.kind !== "figure" || value === null || value === undefined) return HB.shownResult(result, value);
    var unit = readersUnit(result.unit);
    return HB.show(HB.convert(value, result.unit, unit), unit, result.digits);
  }

  Calculator.prototype.tell = function (values, results) {
    var self = this;
    var given = HB.given(this.name, values, results);
    var answer = this.form.querySelector(".hb-answer");
    var said = answer.querySelector(".hb-said");
    answer.className = "hb-answer";
    if (said) said.remove();
    this.declared.results.forEach(function (result, i) {
      var cell = answer.querySelector('[data-result="' + result.name + '"] dd');
      var value = results[result.name];
      cell.textContent = "";
      if (result.kind === "listing" && value) cell.appendChild(listing(result, value));
      else if (result.kind === "reasons") {
        sentencesOf(result, value, given).forEach(function (line) { cell.appendChild(make("p", {}, line)); });
        if (!value.length) cell.textContent = "none";
      } else if (result.words && value !== null) {
        cell.appendChild(make("strong", {}, value));
        cell.appendChild(document.createTextNode(": " + HB.sentence(result, value, given)));
      } else cell.textContent = inReadersUnit(result, value);
      if (i === 0) self.box.querySelector(".hb-calc-short").textContent =
        result.kind === "listing" || result.kind === "reasons" ? HB.shownResult(result, value, given) : inReadersUnit(result, value);
    });
  };

  function listing(result, rows) {
    var table = make("table", {"class": "hb-listing"});
    var head = table.createTHead().insertRow();
    result.columns.forEach(function (column) {
      head.appendChild(make("th", {scope: "col"}, column.about + " " + HB.label(column.unit)));
    });
    var body = table.createTBody();
    rows.forEach(function (row) {
      var line = body.insertRow();
      row.forEach(function (cell, i) {
        var column = result.columns[i];
        line.insertCell().textContent = column.kind === "figure" && cell !== null
          ? HB.figures.significant(cell, column.digits) : HB.shownResult(column, cell);
      });
    });
    return table;
  }

  /* The working: each line of the formula, the same line with the numbers put in, and its value. */
  Calculator.prototype.work = function (values, steps) {
    var known = {};
    this.declared.inputs.forEach(function (input) {
      if (typeof values[input.name] === "number") known[input.name] = values[input.name];
    });
    find("[data-step]", this.form).forEach(function (item) {
      var value = steps[item.getAttribute("data-step")];
      item.hidden = typeof value !== "number";
      if (item.hidden) return;
      var formula = item.querySelector("math");
      var filled = item.querySelector(".hb-put-in");
      if (!filled) filled = item.insertBefore(make("span", {"class": "hb-put-in"}), item.querySelector(".hb-step"));
      filled.textContent = "";
      var copy = formula.cloneNode(true);
      var name = item.getAttribute("data-name");
      if (name) {
        var row = copy.firstElementChild;
        row.removeChild(row.firstElementChild);
        row.removeChild(row.firstElementChild);
      }
      find("[data-n]", copy).forEach(function (node) {
        var key = node.getAttribute("data-n");
        if (known[key] === undefined) return;
        var number = document.createElementNS("http://www.w3.org/1998/Math/MathML", "mn");
        number.textContent = HB.figures.significant(known[key], 5);
        node.parentNode.replaceChild(number, node);
      });
      filled.appendChild(document.createTextNode("= "));
      filled.appendChild(copy);
      item.querySelector(".hb-step").textContent = "= " + HB.figures.significant(value, 5);
      if (name) known[name] = value;
    });
  };

  /* The first result over one input, with the reader's own point on it. */
  Calculator.prototype.draw = function (values) {
    var over = this.form.getAttribute("data-curve");
    if (!over) return;
    var input = this.declared.inputs.filter(function (d) { return d.name === over; })[0];
    var result = this.declared.results.filter(function (r) { return r.kind === "figure"; })[0];
    var here = values[over];
    var span = input.unit.indexOf("deg") === 0 ? [here - 15, here + 15] : [0, here * 2.5];
    var from = Math.max(input.low, span[0]), to = Math.min(input.high, span[1]);
    var points = [];
    for (var i = 0; i <= 80; i += 1) {
      var trial = Object.assign({}, values);
      trial[over] = input.form === "count" ? Math.round(from + (to - from) * i / 80) : from + (to - from) * i / 80;
      try {
        var y = HB.run(this.name, trial)[result.name];
        if (typeof y === "number") points.push([trial[over], y]);
      } catch (problem) {
        if (!problem.sentence && !problem.bad) throw problem;
      }
    }
    var figure = this.form.querySelector(".hb-curve");
    if (!figure) {
      figure = make("figure", {"class": "hb-curve"});
      this.form.insertBefore(figure, this.form.querySelector(".hb-working"));
    }
    figure.textContent = "";
    if (points.length < 3) return;
    figure.appendChild(plot(points, [here, HB.run(this.name, values)[result.name]], input, result));
  };

  function plot(points, mark, input, result) {
    var W = 420, H = 220, L = 62, B = 40, T = 12, R = 14;
    var xs = points.map(function (p) { return p[0]; }), ys = points.map(function (p) { return p[1]; });
    var x0 = Math.min.apply(null, xs), x1 = Math.max.apply(null, xs);
    var y0 = Math.min(0, Math.min.apply(null, ys)), y1 = Math.max.apply(null, ys.concat([mark[1]]));
    if (y1 === y0) y1 = y0 + 1;
    function px(x) { return L + (W - L - R) * (x - x0) / (x1 - x0 || 1); }
    function py(y) { return H - B - (H - B - T) * (y - y0) / (y1 - y0); }
    function svg(tag, attributes, text) {
      var node = document.createElementNS("http://www.w3.org/2000/svg", tag);
      Object.keys(attributes).forEach(function (key) { node.setAttribute(key, attributes[key]); });
      if (text !== undefined) node.textContent = text;
      return node;
    }
    var unitX = readersUnit(input.unit);
    var unitY = readersUnit(result.unit);
    function sayX(x) { return HB.figures.significant(HB.convert(x, input.unit, unitX), 2); }
    function sayY(y) { return HB.figures.significant(HB.convert(y, result.unit, unitY), 2); }
    var title = result.about + " over " + input.about;
    var box = svg("svg", {viewBox: "0 0 " + W + " " + H, role: "img", "aria-label": title + "; your point: " +
      HB.show(HB.convert(mark[0], input.unit, unitX), unitX, 3) + ", " + HB.show(HB.convert(mark[1], result.unit, unitY), unitY, 3)});
    box.appendChild(svg("path", {"class": "hb-axis", d: "M" + L + " " + T + "V" + (H - B) + "H" + (W - R)}));
    [0, 0.5, 1].forEach(function (share) {
      var x = x0 + (x1 - x0) * share, y = y0 + (y1 - y0) * share;
      box.appendChild(svg("path", {"class": "hb-grid", d: "M" + L + " " + py(y) + "H" + (W - R) + "M" + px(x) + " " + T + "V" + (H - B)}));
      box.appendChild(svg("text", {x: px(x), y: H - B + 14, "text-anchor": share === 1 ? "end" : "middle"}, sayX(x)));
      box.appendChild(svg("text", {x: L - 6, y: py(y) + 4, "text-anchor": "end"}, sayY(y)));
    });
    box.appendChild(svg("path", {"class": "hb-line", d: "M" + points.map(function (p) { return px(p[0]).toFixed(1) + " " + py(p[1]).toFixed(1); }).join("L")}));
    box.appendChild(svg("circle", {"class": "hb-mark", cx: px(mark[0]), cy: py(mark[1]), r: 5}));
    box.appendChild(svg("text", {x: W - R, y: H - 6, "text-anchor": "end"}, input.about.slice(0, 48) + " " + HB.label(unitX)));
    box.appendChild(svg("text", {x: L + 4, y: T + 4}, HB.label(unitY)));
    return box;
  }

  Calculator.prototype.tools = function () {
    var self = this;
    var row = make("p", {"class": "hb-tools"});
    var copy = make("button", {type: "button"}, "Copy as text");
    var back = make("button", {type: "button"}, "Start again");
    var done = make("span", {"class": "hb-done", role: "status"});
    copy.addEventListener("click", function () { done.textContent = copyText(self.asText()) ? "copied" : "could not copy"; });
    back.addEventListener("click", function () {
      self.form.reset();
      self.touched = {};
      Object.keys(self.fields).forEach(function (name) {
        var field = self.fields[name];
        if (field.unit) field.unit.value = field.input.unit;
      });
      self.system();
      root.history.replaceState(null, "", root.location.pathname + root.location.search + "#" + self.box.id);
      done.textContent = "";
    });
    [copy, back, done].forEach(function (node) { row.appendChild(node); });
    this.form.insertBefore(row, this.form.querySelector(".hb-working"));
  };

  Calculator.prototype.asText = function () {
    var self = this;
    var inputs = this.declared.inputs.filter(function (d) { return self.fields[d.name].control.value.trim(); }).map(function (d) {
      var field = self.fields[d.name];
      return d.name.replace(/_/g, " ") + " " + field.control.value.trim().replace(/\n/g, "; ") + (field.unit ? " " + HB.label(field.unit.value) : "");
    });
    var answer = this.form.querySelector(".hb-said");
    var results = answer ? [answer.textContent] : this.declared.results.map(function (r) {
      return r.about + ": " + self.form.querySelector('[data-result="' + r.name + '"] dd').innerText.trim();
    });
    return this.declared.title + " | " + inputs.join(", ") + " | " + results.join("; ") + " | edition " + HB.edition;
  };

  function copyText(text) {
    var area = make("textarea", {readonly: "", "class": "hb-copy"});
    area.value = text;
    document.body.appendChild(area);
    area.select();
    var worked = false;
    try { worked = document.execCommand("copy"); } catch (problem) { worked = false; }
    area.remove();
    return worked;
  }

  /* The address holds what was typed, so that a filled calculator can be kept, sent and printed. */
  Calculator.prototype.address = function () {
    var self = this;
    var parts = this.declared.inputs.filter(function (d) { return self.fields[d.name].control.value.trim(); }).map(function (d) {
      var field = self.fields[d.name];
      return d.name + "=" + encodeURIComponent(field.control.value.trim() + (field.unit ? " " + field.unit.value : ""));
    });
    root.history.replaceState(null, "", root.location.pathname + root.location.search + "#" + this.box.id + "?" + parts.join("&"));
  };

  Calculator.prototype.fromAddress = function (text) {
    var self = this;
    text.split("&").forEach(function (part) {
      var name = part.split("=")[0];
      if (!Object.prototype.hasOwnProperty.call(self.fields, name)) return;
      var field = self.fields[name];
      var value = part.slice(name.length + 1);
      try { value = decodeURIComponent(value); } catch (problem) { /* cut short on its way: shown as it came */ }
      self.touched[name] = true;
      if (field.unit) {
        var found = NUMBER.exec(value);
        if (found && HB.units[found[2]]) {
          field.control.value = found[1];
          field.unit.value = found[2];
          return;
        }
      }
      field.control.value = value;
    });
    this.box.open = true;
    this.compute();
  };

  var calculators = {};

  function calculatorOf(box) {
    if (!calculators[box.id]) calculators[box.id] = new Calculator(box);
    return calculators[box.id];
  }
  HB.calculatorOf = calculatorOf;

  function openFromAddress() {
    var hash = root.location.hash.slice(1);
    var mark = hash.indexOf("?");
    var box = document.getElementById(mark < 0 ? hash : hash.slice(0, mark));
    if (!box || !box.classList.contains("hb-calc")) return;
    if (mark >= 0) calculatorOf(box).fromAddress(hash.slice(mark + 1));
    box.open = true;
    box.scrollIntoView();
  }

  function start() {
    find("details.hb-calc").forEach(function (box) {
      box.addEventListener("toggle", function () {
        if (box.open) calculatorOf(box).compute();
      });
      if (box.open || HB.prefersUS()) calculatorOf(box).system();
    });
    openFromAddress();
    root.addEventListener("hashchange", openFromAddress);
    document.addEventListener("hb-units", function () {
      find("details.hb-calc").forEach(function (box) { calculatorOf(box).system(); });
    });
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})(typeof window === "undefined" ? this : window);
