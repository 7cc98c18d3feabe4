/* The search box in the head of every page. What it searches is loaded when it is first used, not with each page. */

(function (HB) {
  "use strict";

  /** @param {string} selector @returns {any} */
  const part = (selector) => document.querySelector(selector);
  const parts = ["#__search", ".md-search__input", ".md-search-result__list", ".md-search-result__meta"];
  const [open, box, list, told] = parts.map(part);
  if (!open || !box || !list || !told) return;
  const MOST = 12;
  // Where somebody starts who has found nothing.
  const BEGINNINGS = ["reference/troubleshooting.html", "tables/index.html", "reference/glossary.html"];

  /** @type {Promise<any> | null} */
  let finder = null;

  /** Load what is searched, once. */
  function ready() {
    finder =
      finder ||
      HB.load("search/words.js", () => HB.found)
        .then(() => HB.finder(HB.found))
        .catch((problem) => {
          finder = null; // it may be there the next time
          throw problem;
        });
    return finder;
  }

  /** The part of a text around the first word of the question that it holds, with these words marked.
   * @param {string} text @param {string[]} asked */
  function excerpt(text, asked) {
    const around = 70;
    const roots = asked
      .filter((word) => word.length > 1)
      .map((word) => word.slice(0, Math.max(4, word.length - 2)));
    const pattern = roots.map((root) => root.replace(/[.]/g, "\\.")).join("|");
    const line = HB.make("p");
    const first = pattern ? text.search(new RegExp(`\\b(?:${pattern})`, "i")) : -1;
    let from = Math.max(0, first - around);
    if (from) from = text.indexOf(" ", from) + 1;
    let to = Math.min(text.length, from + 2.5 * around);
    if (to < text.length) to = Math.max(text.lastIndexOf(" ", to), from + around);
    const shown = text.slice(from, to);
    if (from) line.append("… ");
    let at = 0;
    if (pattern)
      for (const match of shown.matchAll(new RegExp(`\\b(?:${pattern})\\w*`, "gi"))) {
        line.append(shown.slice(at, match.index), HB.make("mark", {}, match[0]));
        at = match.index + match[0].length;
      }
    line.append(shown.slice(at), to < text.length ? " …" : "");
    return line;
  }

  /** @param {string} url @param {string} anchor */
  const address = (url, anchor) => HB.inSite(anchor ? `${url}#${anchor}` : url);

  /** @param {HB.Hit} hit @param {string[]} asked */
  function item(hit, asked) {
    const entry = HB.make("li", { class: "md-search-result__item" });
    const first = hit.sections[0];
    const top = HB.make("a", { class: "md-search-result__link", href: address(hit.url, "") });
    const article = HB.make("article", { class: "md-search-result__article md-typeset" });
    const heading = HB.make("h1", {}, hit.title);
    heading.append(" ", HB.make("small", { class: "hb-kind" }, hit.kind));
    article.append(heading);
    if (first && !first.anchor) article.append(excerpt(first.text, asked));
    top.append(article);
    entry.append(top);
    for (const section of hit.sections.filter((one) => one.anchor).slice(0, 2)) {
      const link = HB.make("a", { class: "md-search-result__link", href: address(hit.url, section.anchor) });
      const inner = HB.make("article", { class: "md-search-result__article md-typeset" });
      inner.append(HB.make("h2", {}, section.heading), excerpt(section.text, asked));
      link.append(inner);
      entry.append(link);
    }
    return entry;
  }

  let asking = 0;

  async function answer() {
    const question = box.value.trim();
    const mine = ++asking;
    if (!question) {
      list.replaceChildren();
      told.textContent = "Type what you see, want or hold.";
      return;
    }
    try {
      const { ask, meant, mended, page } = await ready();
      if (mine !== asking) return; // more has been typed meanwhile
      const hits = ask(box.value.trim() + (/\s$/.test(box.value) ? " " : ""));
      const shown = hits.length ? hits.slice(0, MOST) : BEGINNINGS.map(page).filter(Boolean);
      const asked = hits.length ? meant(question) : [];
      list.replaceChildren(...shown.map((/** @type {HB.Hit} */ hit) => item(hit, asked)));
      HB.textsInUS(list);
      const read = mended(question);
      const count = `${hits.length} ${hits.length === 1 ? "page" : "pages"}`;
      told.textContent = hits.length
        ? `${count}${read ? ` for “${read}”` : ""}${hits.length > MOST ? `, the first ${MOST} shown` : ""}`
        : "No page has any of these words. Try the sign you see, or the name on the bottle; or start here:";
    } catch (_) {
      told.textContent =
        "The search's own file, search/words.js, is not beside the pages. Copy the whole folder of the site.";
    }
  }

  /** @param {boolean} shown */
  function show(shown) {
    if (open.checked === shown) return;
    open.checked = shown;
    open.dispatchEvent(new Event("change"));
  }

  const links = () => /** @type {HTMLElement[]} */ ([...list.querySelectorAll("a")]);

  box.addEventListener("focus", () => {
    show(true);
    ready().catch(() => {});
    if (!box.value) answer();
  });
  box.addEventListener("input", answer);
  open.addEventListener("change", () => open.checked && box.focus());
  if (box.form) {
    box.form.addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
    box.form.addEventListener("reset", () =>
      setTimeout(() => {
        answer();
        box.focus();
      }),
    );
  }
  list.addEventListener("click", (/** @type {Event} */ event) => {
    if (/** @type {Element} */ (event.target).closest("a")) show(false);
  });

  document.addEventListener("keydown", (event) => {
    const here = document.activeElement;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "/" && here && !here.matches("input, textarea, select, [contenteditable]")) {
      event.preventDefault();
      box.focus();
      box.select();
      return;
    }
    if (!open.checked) return;
    if (event.key === "Escape") {
      show(false);
      box.blur();
    } else if (event.key === "Enter" && here === box) {
      event.preventDefault();
      const first = links()[0];
      if (first) first.click();
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      const stops = [box, ...links()];
      const at = stops.indexOf(/** @type {HTMLElement} */ (here));
      if (at < 0) return;
      event.preventDefault();
      stops[(at + (event.key === "ArrowDown" ? 1 : stops.length - 1)) % stops.length].focus();
    }
  });
})(window.HB);
