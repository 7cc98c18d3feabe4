/* Puts what is to be done today, of all pieces, at the head of their page. The page has every day without it. */

(function () {
  "use strict";

  function start() {
    const box = document.getElementById("bench-today");
    if (!box) return;
    const now = new Date();
    const two = (/** @type {number} */ number) => String(number).padStart(2, "0");
    const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    const listed = document.querySelector(`[data-day="${day}"]`);
    const told = document.createElement("p");
    told.textContent = listed ? "Today:" : `Nothing asks for hands today, ${day}.`;
    box.append(told);
    if (listed) box.append(...listed.cloneNode(true).childNodes);
    box.hidden = false;
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
