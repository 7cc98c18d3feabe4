/* What to print: the bench sheet of a procedure, the whole page, or its tables. Without this script a page
   prints whole. */

(function (HB) {
  "use strict";

  const article = document.querySelector("article");
  const title = article && article.querySelector("h1");
  if (!article || !title) return;
  const root = document.documentElement;

  /** @type {[string, string, string][]} what is chosen, its words, and what it needs on the page */
  const CHOICES = [
    ["bench", "Bench sheet: steps, hold points, lines to fill in", ".hb-kept"],
    ["page", "The whole page", "article"],
    ["tables", "Its tables only", "table"],
  ];

  const done = () => {
    delete root.dataset.print;
  };

  /** @param {string} choice */
  function print(choice) {
    root.dataset.print = choice;
    window.print();
    // Some browsers of phones never say that printing is over.
    window.addEventListener("focus", done, { once: true });
  }

  const menu = HB.make("details", { class: "hb-print" }, [HB.make("summary", {}, "Print")]);
  for (const [choice, words, needs] of CHOICES) {
    if (!article.matches(needs) && !article.querySelector(needs)) continue;
    const choose = () => {
      menu.open = false;
      print(choice);
    };
    menu.append(HB.button(words, choose));
  }
  menu.append(HB.make("a", { href: HB.inSite("reference/forms.html") }, "Blank forms"));
  title.after(menu);

  window.addEventListener("afterprint", done);
  window.addEventListener("beforeprint", () => {
    for (const box of document.querySelectorAll("details"))
      if (HB.inPrint && box.classList.contains("hb-calc")) HB.inPrint(box);
  });
})((window.HB = window.HB || /** @type {any} */ ({})));
