/* Units for the reader, and narrowing of long tables. Without this script every page still reads right. */

(function (HB) {
  "use strict";

  var stamp = document.querySelector("[data-house]");
  HB.store = HB.openStore(window, (stamp && stamp.getAttribute("data-house")) || "");

  /* Under which what was typed into a calculator is kept. */
  HB.typedName = (box) => `typed${window.location.pathname}#${box.id}`;

  const wantsUS = () => HB.store.get("units") === "us";

  /* What turns tables and texts comes for readers of US units alone. Until it is there the whole page is metric, so
     that no figure stands below the unit of another. */
  const TURNS = "assets/us.js";
  HB.prefersUS = () => wantsUS() && Boolean(HB.pageIn);
  HB.textsInUS = HB.textsInUS || (() => {});

  function apply() {
    if (wantsUS() && !HB.pageIn) {
      HB.load(TURNS, () => HB.pageIn).then(apply, notTurned);
      return;
    }
    const us = HB.prefersUS();
    document.documentElement.setAttribute("data-units", us ? "us" : "metric");
    label(us);
    told("");
    if (HB.pageIn) HB.pageIn(us);
    document.dispatchEvent(new Event("hb-units"));
  }

  /** @param {Error} problem */
  function notTurned(problem) {
    console.error(problem);
    if (wantsUS())
      told(`The file ${TURNS} is not beside the pages, so all stays in metric units. Copy the whole folder of the site.`);
  }

  /** @param {string} fault of the units; nothing where there is none */
  function told(fault) {
    const article = document.querySelector("article");
    const shown = document.querySelector(".hb-no-units");
    if (shown) shown.remove();
    if (article && fault)
      article.prepend(HB.make("p", { class: "hb-no-units hb-fault", role: "alert" }, fault));
  }

  /** @param {boolean} us */
  function label(us) {
    HB.all(".hb-switch").forEach(function (button) {
      button.textContent = us ? "US units" : "metric";
      button.setAttribute("aria-label", us ? "US units. Change to metric" : "metric units. Change to US");
    });
  }

  function unitSwitch() {
    var header = document.querySelector(".md-header__inner");
    if (!header) return;
    var change = function () {
      HB.store.set("units", HB.prefersUS() ? "metric" : "us");
      apply();
    };
    var button = HB.button("", change, "hb-switch");
    header.insertBefore(
      button,
      header.querySelector(".md-search") ? header.querySelector('label[for="__search"]') : null,
    );
  }

  /** @param {HTMLElement} section */
  function narrowing(section) {
    /** @type {HTMLElement} */
    var body = HB.all("tbody", section)[0];
    var heads = HB.all("thead th", section).map(function (node) {
      return node.textContent.trim();
    });
    /** @type {Record<string, {text: string, exact: boolean}>} */
    var chosen = {};
    var row = HB.make("p", { class: "hb-narrow" });
    var count = HB.make("span", { role: "status" });

    function show() {
      var left = 0;
      HB.all("tr", body).forEach(function (line) {
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

    (section.getAttribute("data-filters") || "").split(" ").forEach(function (index) {
      var words = HB.all("tr", body)
        .filter(function (line) {
          return line.children[index];
        })
        .map(function (line) {
          return line.children[index].textContent.trim();
        });
      var each = words.filter(function (word, i) {
        return words.indexOf(word) === i;
      });
      var few = each.length <= 30;
      /** @type {any} */
      var control = HB.make(few ? "select" : "input");
      if (few) {
        control.add(new Option("all", ""));
        each.forEach(function (word) {
          control.add(new Option(word, word));
        });
      } else control.type = "search";
      control.addEventListener("input", function () {
        if (control.value.trim()) chosen[index] = { text: control.value.trim().toLowerCase(), exact: few };
        else delete chosen[index];
        show();
      });
      row.appendChild(HB.make("label", {}, [heads[Number(index)] + " ", control]));
    });
    row.appendChild(count);
    section.insertBefore(row, section.firstChild);
    show();
  }

  /* The theme wraps a wide table in a box that scrolls; a keyboard must be able to reach it. */
  function reachWideTables() {
    HB.all(".md-typeset__scrollwrap").forEach(function (box) {
      if (box.scrollWidth > box.clientWidth) box.setAttribute("tabindex", "0");
    });
  }

  function start() {
    unitSwitch();
    HB.store.subscribe("units", apply);
    window.setTimeout(reachWideTables, 200);
    window.addEventListener("resize", reachWideTables);
    HB.all("section[data-filters]").forEach(narrowing);
    label(false);
    if (wantsUS()) apply();
  }

  start(); // the page is read before its scripts run
})((window.HB = window.HB || /** @type {any} */ ({})));
