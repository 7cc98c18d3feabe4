/* Reaching and making what stands on a page, and what the site holds beside it. */

(function (HB) {
  "use strict";

  HB.all = (selector, within) => Array.from((within || document).querySelectorAll(selector));

  /* What the page is made to hold: its absence is a fault of the page, told by name. */
  HB.one = function (selector, within) {
    const node = within.querySelector(selector);
    if (!node) throw new Error(`no '${selector}' in ${within.id || within.nodeName.toLowerCase()}`);
    return node;
  };

  HB.make = function (tag, attributes, inside) {
    const node = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes || {})) node.setAttribute(key, value);
    if (typeof inside === "string") node.textContent = inside;
    else node.append(...(inside || []));
    return node;
  };

  HB.button = function (text, action, name) {
    const button = HB.make("button", { type: "button" }, text);
    if (name) button.className = name;
    button.addEventListener("click", action);
    return button;
  };

  /* The older way to the clipboard is the one that works from a folder and on a house's own network. */
  HB.copy = function (text) {
    const area = HB.make("textarea", { readonly: "", class: "hb-copy" });
    area.value = text;
    document.body.append(area);
    area.select();
    let worked = false;
    try {
      worked = document.execCommand("copy");
    } catch (problem) {
      worked = false;
    }
    area.remove();
    return worked;
  };

  const config = document.getElementById("__config");
  const root = new URL(`${JSON.parse((config && config.textContent) || "{}").base || "."}/`, location.href);

  HB.inSite = (path) => new URL(path, root).href;

  /** @type {Map<string, Promise<void>>} */
  const asked = new Map();

  /* A script that was cut short is loaded as far as the browser tells, and leaves nothing. */
  HB.load = function (path, isHere) {
    const loading =
      asked.get(path) ||
      new Promise((done, failed) => {
        const script = HB.make("script", { src: HB.inSite(path) });
        script.async = false; // they come at once, and run in the order in which they were asked for
        const missing = () => {
          asked.delete(path); // it may be there the next time
          script.remove();
          failed(new Error(`no ${path}, or not the whole of it`));
        };
        script.onload = () => (!isHere || isHere() ? done() : missing());
        script.onerror = missing;
        document.head.append(script);
      });
    asked.set(path, loading);
    return loading;
  };

  HB.loadAll = async function (paths) {
    await Promise.all(paths.map((path) => HB.load(path)));
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
