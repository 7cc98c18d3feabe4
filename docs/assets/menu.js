/* The menu opens a section where it stands. Pages carry only their own part of the menu, and lead from the rest
   to a section's first page, which is what happens without this script; the whole is loaded when first asked for. */

(function (HB) {
  "use strict";

  const DATA = "assets/menu-data.js";
  const menu = document.querySelector(".md-nav--primary");
  if (!menu) return;
  const base = JSON.parse(document.getElementById("__config")?.textContent || "{}").base || ".";
  /** @type {Promise<void> | undefined} */
  let loading;

  function load() {
    loading ||= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = `${base}/${DATA}`;
      script.onload = () => resolve();
      script.onerror = () => reject(new Error(`${DATA} is not there`));
      document.head.append(script);
    });
    return loading;
  }

  /** Where an item stands: its place in its list, below those of the sections around it. @param {Element} item */
  function placeOf(item) {
    const place = [];
    for (
      let at = /** @type {Element | null} */ (item);
      at;
      at = at.parentElement?.closest("li") || null
    )
      place.unshift([.../** @type {Element} */ (at.parentElement).children].indexOf(at));
    return place;
  }

  /** @param {string} tag @param {string} name @param {(string | Node)[]} inside */
  function make(tag, name, ...inside) {
    const node = document.createElement(tag);
    node.className = name;
    node.append(...inside);
    return node;
  }

  /** @param {HB.MenuItem} item @param {string} id @param {number} level @returns {HTMLElement} */
  function entry(item, id, level) {
    const words = make("span", "md-ellipsis", item.title);
    if (!item.items) {
      const link = /** @type {HTMLAnchorElement} */ (make("a", "md-nav__link", words));
      link.href = `${base}/${item.url}`;
      return make("li", "md-nav__item", link);
    }
    const toggle = /** @type {HTMLInputElement} */ (make("input", "md-nav__toggle md-toggle"));
    toggle.type = "checkbox";
    toggle.id = id;
    const label = /** @type {HTMLLabelElement} */ (
      make("label", "md-nav__link", words, make("span", "md-nav__icon md-icon"))
    );
    label.htmlFor = id;
    label.id = `${id}_label`;
    label.tabIndex = 0;
    label.addEventListener("keydown", (event) => {
      if (event.key !== " ") return; // the theme reads Enter
      event.preventDefault();
      label.click();
    });
    const back = /** @type {HTMLLabelElement} */ (
      make("label", "md-nav__title", make("span", "md-nav__icon md-icon"), item.title)
    );
    back.htmlFor = id;
    const own = item.index ? [entry(item.index, "", level)] : [];
    const inside = item.items.map((inner, i) => entry(inner, `${id}_${i}`, level + 1));
    const list = make("ul", "md-nav__list", ...own, ...inside);
    const inner = make("nav", "md-nav", back, list);
    inner.dataset.mdLevel = String(level);
    inner.setAttribute("aria-labelledby", label.id);
    return make("li", "md-nav__item md-nav__item--nested", toggle, label, inner);
  }

  /** @param {HTMLElement} item */
  function open(item) {
    const place = placeOf(item);
    let found = /** @type {HB.MenuItem | undefined} */ ({ title: "", items: HB.menu || [] });
    for (const step of place) found = found?.items?.[step];
    if (!found?.items) return false;
    const whole = entry(found, `__menu_${place.join("_")}`, place.length);
    item.replaceWith(whole);
    const toggle = /** @type {HTMLInputElement} */ (whole.querySelector("input"));
    // A section slides in from where it is laid out, so that comes first.
    whole.getBoundingClientRect();
    toggle.checked = true;
    /** @type {HTMLElement} */ (whole.querySelector("label")).focus({ preventScroll: true });
    return true;
  }

  menu.addEventListener("click", (/** @type {any} */ event) => {
    const link = /** @type {Element} */ (event.target).closest(".md-nav__item--pruned > a");
    if (!(link instanceof HTMLAnchorElement) || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    const follow = () => location.assign(link.href);
    load().then(() => open(/** @type {HTMLElement} */ (link.parentElement)) || follow(), follow);
  });
})((window.HB = window.HB || /** @type {any} */ ({})));
