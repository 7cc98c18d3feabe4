/* Units for the reader, and narrowing of long tables. Without this script every page still reads right. */

(function () {
  "use strict";

  var HB = window.HB = window.HB || {};
  var KEY = "iron-bench-handbook.units";

  function find(selector, within) { return Array.prototype.slice.call((within || document).querySelectorAll(selector)); }

  HB.prefersUS = function () {
    try { return window.localStorage.getItem(KEY) === "us"; } catch (problem) { return HB.us_now === true; }
  };

  function keep(us) {
    HB.us_now = us;
    try { window.localStorage.setItem(KEY, us ? "us" : "metric"); } catch (problem) { /* this page only */ }
  }

  /* Cells carry their number, headings their unit and its factor to the reader's: see the renderer. */
  function table(section, us) {
    find("[data-q]", section).forEach(function (node) {
      if (!node.hasAttribute("data-metric")) node.setAttribute("data-metric", node.textContent);
      if (!us) { node.textContent = node.getAttribute("data-metric"); return; }
      var scale = (node.getAttribute("data-scale") || columnScale(node)).split(" ");
      var factor = Number(scale[0]), offset = Number(scale[1]);
      var label = node.getAttribute("data-l") || "";
      var numbers = node.getAttribute("data-q").split(" ").map(function (part) { return round(Number(part) * factor + offset); });
      var text = numbers.length === 3 ? numbers[0] + " (" + numbers[1] + "–" + numbers[2] + ")" : numbers[0];
      node.textContent = label ? text + "\u00a0" + label : text;
    });
    find("[data-us]", section).forEach(function (node) {
      if (!node.hasAttribute("data-metric")) node.setAttribute("data-metric", node.textContent);
      node.textContent = us ? node.getAttribute("data-us") : node.getAttribute("data-metric");
    });
  }

  function columnScale(cell) {
    return cell.closest("table").getAttribute("data-scales").split(";")[cell.cellIndex];
  }

  function round(number) {
    if (number === 0 || !isFinite(number)) return String(number);
    var text = number.toPrecision(3);
    return text.indexOf("e") < 0 ? text : String(Number(text));
  }

  function apply(us) {
    table(document, us);
    find(".hb-switch").forEach(function (button) {
      button.textContent = us ? "US units" : "metric";
      button.setAttribute("aria-label", us ? "Units: US. Change to metric" : "Units: metric. Change to US");
    });
    document.dispatchEvent(new Event("hb-units"));
  }

  function unitSwitch() {
    var header = document.querySelector(".md-header__inner");
    if (!header) return;
    var button = document.createElement("button");
    button.type = "button";
    button.className = "hb-switch";
    button.addEventListener("click", function () {
      keep(!HB.prefersUS());
      apply(HB.prefersUS());
    });
    header.insertBefore(button, header.querySelector(".md-search") ? header.querySelector('label[for="__search"]') : null);
  }

  function narrowing(section) {
    var body = section.querySelector("tbody");
    var heads = find("thead th", section).map(function (node) { return node.textContent.trim(); });
    var chosen = {};
    var row = document.createElement("p");
    row.className = "hb-narrow";
    var count = document.createElement("span");
    count.setAttribute("role", "status");

    function show() {
      var left = 0;
      find("tr", body).forEach(function (line) {
        if (line.className === "hb-banner") return;
        var fits = Object.keys(chosen).every(function (index) {
          var text = line.children[index].textContent.trim().toLowerCase();
          return chosen[index].exact ? text === chosen[index].text : text.indexOf(chosen[index].text) >= 0;
        });
        line.hidden = !fits;
        left += fits ? 1 : 0;
      });
      count.textContent = left + " rows";
    }

    section.getAttribute("data-filters").split(" ").forEach(function (index) {
      var words = find("tr", body).filter(function (line) { return line.children[index]; }).map(function (line) { return line.children[index].textContent.trim(); });
      var each = words.filter(function (word, i) { return words.indexOf(word) === i; });
      var few = each.length <= 30;
      var label = document.createElement("label");
      var control = document.createElement(few ? "select" : "input");
      label.textContent = heads[index] + " ";
      if (few) {
        control.add(new Option("all", ""));
        each.forEach(function (word) { control.add(new Option(word, word)); });
      } else control.type = "search";
      control.addEventListener("input", function () {
        if (control.value.trim()) chosen[index] = {text: control.value.trim().toLowerCase(), exact: few};
        else delete chosen[index];
        show();
      });
      label.appendChild(control);
      row.appendChild(label);
    });
    row.appendChild(count);
    section.insertBefore(row, section.firstChild);
    show();
  }

  /* The theme wraps a wide table in a box that scrolls; a keyboard must be able to reach it. */
  function reachWideTables() {
    find(".md-typeset__scrollwrap").forEach(function (box) {
      if (box.scrollWidth > box.clientWidth) box.setAttribute("tabindex", "0");
    });
  }

  function start() {
    unitSwitch();
    window.setTimeout(reachWideTables, 200);
    window.addEventListener("resize", reachWideTables);
    find("section[data-filters]").forEach(narrowing);
    apply(HB.prefersUS());
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
