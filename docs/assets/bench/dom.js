/* Reaching and making what stands on a page. */

(function (HB) {
  "use strict";

  HB.all = (selector, within) => Array.from((within || document).querySelectorAll(selector));

  /* What the page is made to hold: its absence is a fault of the page, told by name. */
  HB.one = function (selector, within) {
    const node = within.querySelector(selector);
    if (!node) throw new Error(`no '${selector}' in ${within.id || within.nodeName.toLowerCase()}`);
    return node;
  };

  HB.make = function (tag, attributes, text) {
    const node = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes || {})) node.setAttribute(key, value);
    if (text !== undefined) node.textContent = text;
    return node;
  };

  HB.button = function (text, action) {
    const button = HB.make("button", { type: "button" }, text);
    button.addEventListener("click", action);
    return button;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
