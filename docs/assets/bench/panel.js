/* The panel in which a reader types a piece, opens its file, saves it, and chooses which one the pages answer for. What
   is typed goes into the text of the piece's file, comments kept; it is read as any file is. */

(function (HB) {
  "use strict";

  const own = HB.own;
  const SECTIONS = { piece: "What is known of it", wanted: "What is wanted of it" };

  /** @type {HTMLDialogElement | null} */
  let dialog = null;

  const REFUSED = "piece-refused";

  /* What is kept of a piece beside its file. */
  /** @param {string} number */
  const besides = (number) => [`log/${number}`, `ticks/plan/${number}`];

  /* What this bench cannot do for pieces, of those that are still kept. */
  /** @param {Map<string, string>} pieces @returns {Record<string, string[]>} */
  function refusedOf(pieces) {
    const told = HB.store.get(REFUSED);
    const all = told && typeof told === "object" ? Object.entries(told) : [];
    return Object.fromEntries(all.filter(([number]) => pieces.has(number)));
  }

  /** @param {string} key */
  const fieldId = (key) => `hb-piece-${key.replace(".", "-")}`;

  /** @param {{line: number, key: string, told: string}} fault */
  const faultText = ({ line, key, told }) => `line ${line}: ${[key, told].filter(Boolean).join(": ")}`;

  /* ---- what was typed and is not kept yet ---- */

  const DRAFTS = "piece-drafts";
  /** @typedef {Record<string, string>} Draft what was typed, by key */

  /** @type {string | null} of which piece the form is open; an empty text for a new one */
  let editing = null;

  /** @returns {Record<string, Draft>} by the number of the piece */
  function drafts() {
    const told = HB.store.get(DRAFTS);
    return told && typeof told === "object" ? told : {};
  }

  /** @param {string} of @param {Draft} [draft] */
  function keepDraft(of, draft) {
    const { [of]: before, ...others } = drafts();
    const all = draft && Object.keys(draft).length ? { ...others, [of]: draft } : others;
    if (before || draft) HB.store.set(DRAFTS, Object.keys(all).length ? all : undefined);
  }

  /* Throws away what was typed, at the second press. */
  /** @param {string} of @param {() => void} then */
  function throwAway(of, then) {
    const button = HB.button("Throw away what was typed", () => {
      if (button.dataset.sure) {
        keepDraft(of);
        then();
      } else {
        button.dataset.sure = "yes";
        button.textContent = "Really throw it away?";
      }
    });
    return button;
  }

  /** @param {Map<string, string>} pieces */
  function notKept(pieces) {
    return Object.keys(drafts())
      .filter((of) => !of || pieces.has(of))
      .map((of) =>
        HB.make("p", { class: "hb-piece-tools hb-piece-draft" }, [
          HB.make("span", {}, `What you typed of ${of || "a new piece"} is still here, and not kept yet.`),
          HB.button("Go on typing", () => edit(of, pieces.get(of) || own.template)),
          throwAway(of, list),
        ]),
      );
  }

  /* ---- the list ---- */

  function list() {
    editing = null;
    const chosen = HB.pieceName();
    const pieces = HB.pieces();
    const told = HB.make("p", { role: "status", class: "hb-piece-told" });
    const rows = Array.from(pieces, ([number, text]) => row(number, text, chosen));
    const example = HB.make("li", {}, [
      HB.make("strong", {}, `Example ${own.example}`),
      ` of an invented bench${chosen ? " " : ": the pages answer for it now "}`,
    ]);
    if (chosen) example.append(HB.button("Answer for the example", () => HB.choosePiece("")));
    const file = HB.make("input", { type: "file", id: "hb-piece-file", accept: ".yml,.yaml,text/yaml" });
    file.addEventListener("change", () => open(file, told));
    show([
      HB.make("h2", { id: "hb-piece-title" }, "Your pieces"),
      HB.make(
        "p",
        {},
        "Kept on this device and sent nowhere. Save the file of each: a browser that is cleaned forgets them.",
      ),
      ...notKept(pieces),
      HB.make("ul", { class: "hb-pieces" }, [...rows, example]),
      HB.make("p", { class: "hb-piece-tools" }, [
        HB.button("Type a new piece", () => edit("", own.template)),
        HB.make("span", {}, [HB.make("label", { for: "hb-piece-file" }, "Open a piece's file "), file]),
      ]),
      told,
    ]);
  }

  /** @param {string} number @param {string} text @param {string} chosen */
  function row(number, text, chosen) {
    const item = HB.make("li", {}, [HB.make("strong", {}, number), " "]);
    if (number === chosen) item.append("the pages answer for it now ");
    else
      item.append(
        HB.button(`Answer for ${number}`, () => HB.choosePiece(number)),
        " ",
      );
    const forget = HB.button(`Forget ${number}`, () => {
      if (forget.dataset.sure) {
        const left = HB.pieces();
        left.delete(number);
        HB.keepPieces(left);
        for (const name of besides(number)) HB.store.set(name, undefined);
        keepDraft(number);
        HB.store.set(REFUSED, refusedOf(left));
        if (number === chosen) HB.choosePiece("");
        else list();
      } else {
        forget.dataset.sure = "yes";
        forget.textContent = HB.hasLog(number)
          ? `Really forget ${number} and its log? Save both files first`
          : `Really forget ${number}? Save its file first`;
      }
    });
    item.append(
      HB.button(`Change ${number}`, () => edit(number, text)),
      " ",
      HB.button(`Save ${number}.yml`, () => save(number, text)),
      " ",
      ...(HB.hasLog(number) ? [saveLog(number), " "] : []),
      forget,
    );
    return item;
  }

  /** @param {string} number @param {string} text */
  const save = (number, text) => HB.saveFile(`${HB.fileName(number)}.yml`, text, "text/yaml");

  /** @param {string} number */
  function saveLog(number) {
    const name = `${HB.fileName(number)}.csv`;
    return HB.button(`Save ${name}`, () => HB.saveFile(name, HB.store.get(`log/${number}`), "text/csv"));
  }

  /** @param {HTMLInputElement} file @param {HTMLElement} told */
  async function open(file, told) {
    const [asked] = file.files || [];
    file.value = ""; // so that the same file, mended, can be opened again
    if (!asked) return;
    if (asked.size > own.most) {
      told.textContent = `${asked.name}: holds ${asked.size} bytes; allowed is a piece's file of at most ${own.most}. Nothing was changed.`;
      return;
    }
    let text;
    try {
      text = new TextDecoder("utf-8", { fatal: true }).decode(await asked.arrayBuffer());
    } catch (problem) {
      told.textContent = `${asked.name}: is not UTF-8 text; save it as UTF-8. Nothing was changed.`;
      return;
    }
    const { faults, number } = HB.readPiece(text);
    if (faults.length) {
      told.replaceChildren(
        `${asked.name} is refused whole, and nothing was changed:`,
        HB.make(
          "ul",
          {},
          faults.slice(0, 20).map((fault) => HB.make("li", {}, faultText(fault))),
        ),
      );
      return;
    }
    keep("", number, text, told);
  }

  /* ---- one piece ---- */

  /** @param {string} before the number under which it was kept @param {string} text */
  function edit(before, text) {
    editing = before;
    const entries = HB.entriesOf(text);
    const draft = drafts()[before] || {};
    const kept = (/** @type {string} */ key) => (entries.get(key) || { value: "" }).value;
    /** @type {Map<string, HTMLInputElement | HTMLSelectElement>} */
    const controls = new Map();
    const told = HB.make("p", { role: "alert", class: "hb-piece-told" });
    const parts = Object.entries(SECTIONS).map(([section, title]) => {
      const set = HB.make("fieldset", { class: "hb-piece-facts" }, [HB.make("legend", {}, title)]);
      for (const [key, fact] of Object.entries(own.facts)) {
        if (!key.startsWith(`${section}.`)) continue;
        set.append(field(key, fact, Object.hasOwn(draft, key) ? draft[key] : kept(key), controls));
      }
      return set;
    });
    const typed = () =>
      Array.from(controls, ([key, control]) => ({ key, text: control.value.trim(), reason: "" })).filter(
        ({ key, text: now }) => now !== kept(key),
      );
    const done = HB.button("Keep it, and answer for it", () => {
      const changes = typed();
      const filled = changes.filter(({ text: now }) => now);
      const { text: changed, fault } = HB.patched(text, filled);
      const { faults, number } = HB.readPiece(changed);
      for (const key of controls.keys()) mark(key, "");
      if (before && HB.pieces().get(before) !== text)
        told.textContent = `Not kept: ${before} was changed or forgotten in another window since this was opened. Note what you typed, go back to the list, and change it there.`;
      else if (fault) told.textContent = fault;
      else if (faults.length) {
        for (const { key, told: why } of faults) mark(key, why);
        told.textContent = inUS(`Not kept: ${faults.length} to mend. ${faultText(faults[0])}`);
        const first = controls.get(faults[0].key);
        if (first) first.focus();
      } else keep(before, number, changed, told);
    });
    const again = HB.make("p", { class: "hb-piece-tools hb-piece-draft" }, [
      HB.make("span", {}, "What you type stays on this device until you keep it or throw it away."),
    ]);
    if (Object.keys(draft).length) again.append(throwAway(before, () => edit(before, text)));
    for (const control of controls.values())
      control.addEventListener("input", () =>
        keepDraft(before, Object.fromEntries(typed().map(({ key, text: now }) => [key, now]))),
      );
    show([
      HB.make("h2", { id: "hb-piece-title" }, before ? `Piece ${before}` : "A new piece"),
      HB.make(
        "p",
        {},
        "Write each with its unit. Behind a guess put its span in brackets: 4 mm (2 mm to 8 mm). Where nobody knows, leave unknown: below it stands what is then taken, and what that costs.",
      ),
      again,
      HB.make("div", {}, parts),
      told,
      HB.make("p", { class: "hb-piece-tools" }, [done, HB.button("Back to the list", list)]),
    ]);
  }

  /* What is allowed, in the reader's units. */
  /** @param {string} why */
  const inUS = (why) => (HB.prefersUS() ? HB.faultInUS(why) : why);

  /** @param {string} key @param {string} why */
  function mark(key, why) {
    const error = document.getElementById(`${fieldId(key)}-error`);
    const control = document.getElementById(fieldId(key));
    if (error) error.textContent = inUS(why);
    if (control) control.setAttribute("aria-invalid", String(Boolean(why)));
  }

  /** @param {string} key @param {HB.OwnFact} fact @param {string} text
      @param {Map<string, HTMLInputElement | HTMLSelectElement>} controls */
  function field(key, fact, text, controls) {
    const id = fieldId(key);
    const described = { "aria-describedby": `${id}-help ${id}-error` };
    const options = choices(key, fact);
    /** @type {HTMLInputElement | HTMLSelectElement} */
    let control;
    if (options) {
      control = HB.make("select", { id, ...described });
      const listed = options.includes(text) ? options : [text, ...options];
      for (const option of listed) control.append(HB.make("option", { value: option }, option || "choose"));
      control.value = text;
    } else {
      control = HB.make("input", {
        id,
        type: "text",
        autocomplete: "off",
        spellcheck: "false",
        ...described,
      });
      control.value = text;
    }
    controls.set(key, control);
    const help = HB.make("span", { class: "hb-help", id: `${id}-help` });
    const helped = () => {
      const word = control.value.trim().replace(/\s+/g, " ");
      const instead = fact.instead.find(({ words }) => words.includes(word));
      const taken = instead && instead.taken ? `Taken: ${instead.taken}. ` : "";
      help.textContent = instead ? `${taken}${instead.costs}` : `Allowed: ${fact.allowed}.`;
      HB.textsInUS(help);
    };
    control.addEventListener("input", helped);
    helped();
    return HB.make("div", { class: "hb-piece-fact" }, [
      HB.make("label", { for: id }, fact.about),
      control,
      help,
      HB.make("span", { class: "hb-error", id: `${id}-error` }),
    ]);
  }

  /** @param {string} key @param {HB.OwnFact} fact @returns {string[] | null} */
  function choices(key, fact) {
    const words = fact.instead.flatMap((instead) => instead.words).filter(Boolean);
    if (key === "wanted.coating") return ["none", ...own.coatings];
    if (fact.form === "yesno") return ["yes", "no", ...words];
    if (fact.form === "choice") return [...HB.lists[fact.options], ...words];
    return null;
  }

  /* Kept, planned once so that every page can say what this bench cannot do for it, and chosen. */
  /** @param {string} before @param {string} number @param {string} text @param {HTMLElement} told */
  async function keep(before, number, text, told) {
    const pieces = HB.pieces();
    if (number !== before && pieces.has(number) && pieces.get(number) !== text) {
      told.replaceChildren(
        `Not kept: there is a piece ${number} already. Give this one another number`,
        ...(before
          ? [", or forget the other first."]
          : [
              ". Or, if it is the same piece, save the file kept here first, then: ",
              HB.button(`Put this in the place of ${number}; its log stays`, () =>
                keep(number, number, text, told),
              ),
            ]),
      );
      return;
    }
    const earlier = HB.pieces();
    const moved = before && before !== number ? besides(before).map((name, i) => [name, besides(number)[i]]) : [];
    const back = () => {
      for (const [, to] of moved) HB.store.set(to, undefined);
      HB.keepPieces(earlier);
    };
    if (before) pieces.delete(before);
    pieces.set(number, text);
    const room = moved.every(([from, to]) => HB.store.set(to, HB.store.get(from)));
    if (!room || !HB.keepPieces(pieces)) {
      back();
      told.textContent =
        "This browser keeps nothing more from here: it is full, or it refuses. The file of the piece is saved instead; what was kept before stands.";
      save(number, text);
      return;
    }
    for (const [from] of moved) HB.store.set(from, undefined);
    if (editing !== null) keepDraft(editing);
    told.textContent = "Kept. Its plan is being worked out.";
    const others = refusedOf(pieces);
    try {
      HB.store.set(REFUSED, { ...others, [number]: await refusals(text) });
    } catch (problem) {
      console.error(problem); // the page says which piece it cannot answer for
      HB.store.set(REFUSED, others);
    }
    HB.choosePiece(number);
  }

  /* What this bench cannot do for a piece, by its plan. */
  /** @param {string} text */
  async function refusals(text) {
    await HB.withPlan();
    const { values } = HB.planInputs(HB.readPiece(text).facts);
    const plan = HB.planOf(values, []);
    return plan.refused
      ? [`The whole route is refused: ${plan.refused}`]
      : plan.steps
          .filter((step) => step.refused)
          .map(
            (step) =>
              `${(HB.planSteps.find(({ id }) => id === step.id) || { title: step.id }).title}: ${step.refused}`,
          );
  }

  /* ---- the dialog ---- */

  /** @param {Node[]} parts */
  function show(parts) {
    if (!dialog) return;
    const shut = HB.button("Close", () => dialog && dialog.close(), "hb-shut");
    dialog.replaceChildren(shut, ...parts);
    dialog.scrollTop = 0;
    const title = dialog.querySelector("h2");
    if (title) {
      title.tabIndex = -1;
      title.focus();
    }
  }

  HB.openPanel = function (opener) {
    if (!dialog) {
      dialog = HB.make("dialog", { class: "hb-piece-panel md-typeset", "aria-labelledby": "hb-piece-title" });
      dialog.addEventListener("close", () => opener.focus());
      document.body.append(dialog);
    }
    if (!dialog.open) dialog.showModal();
    list();
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
