/* The book: one chapter at a time, light and dark, and a search through what is in it. Runs inside handbook.html,
   after the scripts of the calculators; without it all chapters stand one below the other. */

(function (HB) {
  "use strict";

  const root = document.documentElement;
  const title = document.title;
  /** @type {HTMLElement[]} */
  const chapters = Array.from(document.querySelectorAll(".pg"));
  const [cover] = chapters;
  const bar = document.querySelector(".md-header__inner");
  const here = document.querySelector(".bk-here");
  const MOST_FOUND = 30;

  const made = HB.make;

  /* ---- one chapter at a time ---- */

  /** @param {string} hash */
  function named(hash) {
    const id = hash.replace(/^#/, "").split("?")[0];
    try {
      return document.getElementById(decodeURIComponent(id));
    } catch (problem) {
      return null;
    } // cut short on its way
  }

  /** @param {HTMLElement} chapter */
  function nameOf(chapter) {
    const head = chapter.querySelector("h1");
    const number = chapter.dataset.number;
    return `${number ? `${number} ` : ""}${head ? head.textContent : ""}`.trim();
  }

  /** @param {string} hash @param {boolean} moved somebody went there, and it is not the first look */
  function show(hash, moved) {
    // What another edition calls otherwise is looked for in its chapter.
    const place = named(hash) || named(hash.split("--")[0]);
    const chapter = /** @type {HTMLElement} */ ((place && place.closest(".pg")) || cover);
    for (const other of chapters) other.classList.toggle("on", other === chapter);
    // From cover and contents the whole book is printed.
    if (chapter.matches("article, .bk-index")) delete root.dataset.print;
    else root.dataset.print = "book";
    const name = nameOf(chapter);
    document.title = chapter === cover ? title : `${name} · ${title}`;
    if (here) here.textContent = chapter === cover ? "" : name;
    if (!moved && !place) return;
    if (moved) chapter.focus({ preventScroll: true });
    if (place && place !== chapter) place.scrollIntoView();
    else window.scrollTo(0, 0);
  }

  // No change of the address is told where a mail program shows the file; so a link is followed here.
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element && event.target.closest("a[href^='#']");
    if (!link || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    const hash = link.getAttribute("href") || "";
    try {
      history.pushState(null, "", hash);
    } catch (problem) {
      /* the address stays; the chapter opens all the same */
    }
    show(hash, true);
    window.dispatchEvent(new Event("hashchange")); // a calculator opens where it is named
  });
  window.addEventListener("popstate", () => show(location.hash, true));

  /* ---- light and dark ---- */

  function schemeButton() {
    const system = matchMedia("(prefers-color-scheme: dark)");
    const button = made("button", { type: "button", class: "bk-scheme" });
    function apply() {
      const kept = HB.store && HB.store.get("book-scheme");
      const dark = kept ? kept === "slate" : system.matches;
      root.dataset.mdColorScheme = dark ? "slate" : "default";
      button.textContent = dark ? "dark" : "light";
      button.setAttribute("aria-label", dark ? "Page: dark. Change to light" : "Page: light. Change to dark");
    }
    button.addEventListener("click", () => {
      if (HB.store) HB.store.set("book-scheme", root.dataset.mdColorScheme === "slate" ? "default" : "slate");
      apply();
    });
    system.addEventListener("change", apply);
    apply();
    if (bar) bar.append(button);
  }

  /* ---- search ---- */

  /** @param {string} text */
  const folded = (text) =>
    text
      .normalize("NFD")
      .replace(/[\u0300-\u036f]/g, "")
      .toLowerCase();

  /** @type {{id: string, title: string, chapter: string, head: string, text: string}[]} */
  let sections = [];

  /* What stands below each heading, gone through once, when somebody first asks. */
  function readSections() {
    for (const chapter of chapters.filter((node) => node.matches("article"))) {
      const walk = document.createTreeWalker(chapter, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
      let section = { id: chapter.id, title: "", chapter: nameOf(chapter), head: "", text: "" };
      sections.push(section);
      for (let node = walk.nextNode(); node; node = walk.nextNode()) {
        if (node instanceof HTMLElement && node.id && /^H[23]$/.test(node.nodeName)) {
          section = { id: node.id, title: (node.textContent || "").trim(), chapter: section.chapter, head: "", text: "" };
          sections.push(section);
        } else if (node.nodeType === Node.TEXT_NODE) section.text += ` ${node.nodeValue}`;
      }
    }
    for (const section of sections) {
      section.head = folded(`${section.chapter} ${section.title}`);
      section.text = folded(section.text.replace(/\s+/g, " "));
    }
  }

  /** @param {string} asked */
  function found(asked) {
    const words = folded(asked).split(/\s+/).filter((word) => word.length > 1);
    if (!sections.length) readSections();
    return sections
      .map((section) => {
        let worth = 0;
        for (const word of words) {
          if (section.head.includes(word)) worth += 12;
          if (section.text.includes(word)) worth += 8;
        }
        // What is asked for, as it was asked, is worth more than its words apart.
        const phrase = words.join(" ");
        if (section.head.includes(phrase)) worth += 60;
        if (section.text.includes(phrase)) worth += Math.min(section.text.split(phrase).length, 10) + 25;
        return { section, worth };
      })
      .filter(({ worth }) => worth > 0)
      .sort((one, other) => other.worth - one.worth)
      .slice(0, MOST_FOUND)
      .map(({ section }) => section);
  }

  function searchBox() {
    const place = document.querySelector(".bk-find");
    if (!place) return;
    const field = /** @type {HTMLInputElement} */ (
      made("input", { id: "bk-asked", type: "search", autocomplete: "off", spellcheck: "false" })
    );
    const told = made("p", { role: "status" });
    const list = made("ul", {});
    place.append(made("label", { for: "bk-asked" }, "Search in the book"), field, told, list);
    let later = 0;
    field.addEventListener("input", () => {
      clearTimeout(later);
      later = window.setTimeout(() => {
        const asked = field.value.trim();
        const hits = asked.length > 1 ? found(asked) : [];
        told.textContent = asked.length < 2 ? "" : hits.length ? `${hits.length} places` : "Nothing found: try another word.";
        list.replaceChildren(
          ...hits.map((hit) => {
            const item = made("li", {});
            item.append(made("a", { href: `#${hit.id}` }, hit.title ? `${hit.chapter}: ${hit.title}` : hit.chapter));
            return item;
          }),
        );
      }, 120);
    });
  }

  /* On paper a calculator is one line, with what was typed into it. */
  window.addEventListener("beforeprint", () => {
    if (!HB.inPrint) return;
    for (const box of HB.all("details.hb-calc")) HB.inPrint(box);
  });

  /* ---- what the file leaves out of each field, because without scripts it is of no use ---- */

  function wholeFields() {
    for (const field of document.querySelectorAll(".hb-bench input")) field.setAttribute("autocomplete", "off");
    for (const menu of document.querySelectorAll(".hb-bench select[data-argument]")) {
      const bench = menu.closest("[data-calculation]");
      const declared = HB.declared && HB.declared[(bench && bench.getAttribute("data-calculation")) || ""];
      const input = declared && declared.inputs.find(({ name }) => name === menu.getAttribute("data-argument"));
      const names = input && (input.family ? HB.families[input.family] : HB.lists[Number(input.options)]);
      const options = Array.from(/** @type {HTMLSelectElement} */ (menu).options);
      const chosen = options.find((option) => option.defaultSelected);
      if (!names || names.length + (input.optional ? 1 : 0) === options.length) continue;
      const before = chosen ? names.indexOf(chosen.text) : -1;
      names.forEach((name, place) => {
        if (place === before) return;
        const option = made("option", {}, name);
        if (chosen && place < before) chosen.before(option);
        else menu.append(option);
      });
    }
  }

  wholeFields();
  schemeButton();
  searchBox();
  show(location.hash, false);
})((window.HB = window.HB || /** @type {any} */ ({})));
