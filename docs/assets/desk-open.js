/* The keeper's desk is opened by its button, by the one beside a value, or by what was being changed here before.
   What it works with is loaded then, and not with the page. */

(function (HB) {
  "use strict";

  const place = document.getElementById("hb-desk");
  if (!place) return;
  const holder = place;
  const SCRIPTS = ["assets/desk-data.js", "assets/patch.js"];

  async function open() {
    try {
      await HB.withWhole();
      await HB.loadAll(SCRIPTS);
      await HB.load("assets/desk.js", () => HB.changeValue);
    } catch (problem) {
      const text = "A script of the site could not be loaded: copy the whole folder of the site, or change the file by hand, as above.";
      holder.replaceChildren(HB.make("p", { class: "hb-fault", role: "alert" }, text));
      throw problem;
    }
  }

  /** @param {string} key */
  async function change(key) {
    await open();
    HB.changeValue(key);
  }

  const opening = HB.button("Open the desk", () =>
    open().then(() => HB.one("#hb-desk-key", holder).focus()),
  );
  opening.className = "hb-desk-open";
  holder.replaceChildren(opening);

  /* A row gets its button when it comes near: there are hundreds. */
  const near = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) {
        if (!isIntersecting) continue;
        near.unobserve(target);
        const key = target.id.slice("house-".length);
        const button = HB.button("Change", () => change(key), "hb-desk-change");
        button.setAttribute("aria-label", `Change ${key}`);
        /** @type {HTMLTableRowElement} */ (target).cells[1].append(" ", button);
      }
    },
    { rootMargin: "100%" },
  );
  for (const row of HB.all('#table-house-values tr[id^="house-"]')) near.observe(row);
  if (HB.store.get("desk")) open();
})((window.HB = window.HB || /** @type {any} */ ({})));
