/* The keeper's desk: house values tried and written in the page of the standard. A value is read and held to its range
   and to the rules about pairs as it is typed; what it would do is computed by the calculators' own formulas; the file
   of differences is written with its comments kept. Nothing leaves the page but the file that is saved. */

(function (HB) {
  "use strict";

  const place = document.getElementById("hb-desk");
  if (!place || !HB.desk || !HB.declared) return;
  const holder = place;
  const desk = HB.desk;
  const KEPT = "desk";

  HB.addLists(
    desk,
    Object.values(desk.values).map(({ input }) => input),
  );

  /** @typedef {{text: string, grade: string, reason: string}} Draft */
  /** @typedef {{value: any, ends?: [number, number]} | {fault: string}} Read */

  /** @param {string} key */
  const isValue = (key) => Object.hasOwn(desk.values, key);

  /** What was kept may be of another version, or of nobody.
   * @param {[string, any]} kept */
  function isDraft([key, draft]) {
    const texts = draft && [draft.text, draft.grade, draft.reason];
    return isValue(key) && texts && texts.every(isText);
  }

  /** @param {[string, any]} kept @returns {[string, Draft]} */
  function graded([key, draft]) {
    return [key, Object.hasOwn(desk.grades, draft.grade) ? draft : { ...draft, grade: "Chosen" }];
  }

  /** @param {any} text */
  const isText = (text) => typeof text === "string";

  /** @type {Map<string, Draft>} */
  const drafts = new Map(
    Object.entries(HB.store.get(KEPT) || {})
      .filter(isDraft)
      .map(graded),
  );
  /** @type {{name: string, text: string} | null} */
  let opened = null;

  /* ---- reading and checking ---- */

  /** What a person typed for a house value; as in the file, a number carries its unit.
   * @param {string} key @param {string} typed @returns {Read} */
  function read(key, typed) {
    const { input, spelled } = desk.values[key];
    const text = input.form === "several" ? typed.trim().replace(/^\[|\]$/g, "") : typed.trim();
    if (!text) return { fault: `has no value; allowed is ${input.allowed}` };
    try {
      const known = HB.readKnown(input, text, "");
      const wrong = known.value === null ? "" : HB.wordsFault(input, desk.values[key].pattern, text);
      return wrong ? { fault: wrong } : known;
    } catch (problem) {
      if (!problem.message || problem instanceof Error) throw problem;
      const also = spelled ? "; here a name is written as the list has it" : "";
      return { fault: problem.message + also };
    }
  }

  /** @param {string} key */
  function current(key) {
    const draft = drafts.get(key);
    const found = draft ? read(key, draft.text) : null;
    return found && !("fault" in found)
      ? found
      : { value: desk.values[key].value, ends: desk.values[key].ends };
  }

  /** @param {string} key */
  const writtenNow = (key) => (drafts.get(key) || { text: desk.values[key].written }).text;

  /** @type {Record<string, [(a: number, b: number) => boolean, boolean, string, string]>} */
  const ORDERS = {
    "<": [(a, b) => a < b, false, "is not below", "less than"],
    "<=": [(a, b) => a <= b, true, "is above", "up to"],
    ">": [(a, b) => a > b, false, "is not above", "more than"],
    ">=": [(a, b) => a >= b, true, "is below", "at least"],
  };

  /** @param {number} value @param {string} from @param {string} to */
  const converted = (value, from, to) => (from === "1" && to === "%" ? value : HB.convert(value, from, to));

  /** What contradicts a changed value, in Python's words. */
  function contradictions() {
    const told = [];
    for (const [key, sign, other, because] of desk.pairs) {
      if (!(drafts.has(key) || drafts.has(other)) || !desk.values[key] || !desk.values[other]) continue;
      const mine = current(key).value;
      const theirs = current(other).value;
      if (typeof mine !== "number" || typeof theirs !== "number") continue;
      const bound = converted(theirs, desk.values[other].input.unit, desk.values[key].input.unit);
      const [holds, closed, fails, allowed] = ORDERS[sign];
      const equal = Math.abs(mine - bound) <= 1e-9 * Math.max(Math.abs(mine), Math.abs(bound));
      if (equal ? closed : holds(mine, bound)) continue;
      const shown = writtenNow(other);
      told.push(
        `${key}: ${writtenNow(key)} ${fails} ${other}, ${shown}: ${because}; allowed is ${allowed} ${shown}`,
      );
    }
    return told;
  }

  /** The rules that reckon, of the changed values: they are held to when the command checks. */
  function notChecked() {
    const changed = [...drafts.keys()];
    return desk.reckoned
      .filter(({ keys }) =>
        keys.some((key) => changed.some((one) => one === key || one.startsWith(`${key}.`))),
      )
      .map(({ says }) => says);
  }

  /* ---- what it would do ---- */

  /** @param {string} key */
  const unitOf = (key) => (desk.values[key] ? desk.values[key].input.unit : desk.facts[key].unit);

  /** The inputs of a calculation, with the house's values from one of two states.
   * @param {string} name @param {(key: string) => {value: any, ends?: [number, number]} | undefined} house */
  function inputsOf(name, house) {
    const start = desk.starts[name];
    /** @type {HB.Values} */
    const values = { ...start.values };
    for (const input of HB.declared[name].inputs) {
      const follows = start.follows && start.follows[input.name];
      const named = follows || input.house;
      if (!named || values[input.name] !== undefined) continue;
      const key = named.replace(/\{(\w+)\}/g, (all, argument) => values[argument]);
      const known = house(key);
      if (!known) continue;
      const end = start.ends && start.ends[input.name];
      const ends = known.ends || [known.value, known.value];
      let value = end ? ends[end === "low" ? 0 : 1] : known.value;
      if (follows && typeof value === "number")
        value = converted(value, unitOf(key), input.unit);
      values[input.name] = value;
    }
    return values;
  }

  /** @param {string} name */
  function changedHere(name) {
    const start = desk.starts[name];
    const named = HB.declared[name].inputs
      .map((input) => (start.follows && start.follows[input.name]) || input.house || "")
      .filter(Boolean);
    return [...drafts.keys()].some((key) =>
      named.some((one) => {
        const [before, after] = one.split(/\{\w+\}/);
        return after === undefined ? one === key : key.startsWith(before) && key.endsWith(after);
      }),
    );
  }

  /** @param {string} name @param {HB.Values} values @returns {{refused?: string, results: HB.Values}} */
  function answer(name, values) {
    try {
      return { results: HB.run(name, values) };
    } catch (problem) {
      if (!problem.sentence && !problem.bad) throw problem;
      return { refused: problem.sentence || problem.bad, results: {} };
    }
  }

  /**
   * By how much a result moved, as `changes` says it, and whether that is told first. Degrees have no share.
   * @param {HB.Values[string]} was @param {HB.Values[string]} is @param {string} unit
   * @returns {[string, boolean]}
   */
  function movedBy(was, is, unit) {
    if (typeof is !== "number") return ["", true];
    if (typeof was !== "number" || was === is) return ["", false];
    const sign = is > was ? "+" : "";
    if (unit === "degC") {
      return [` (${sign}${Number((is - was).toPrecision(3))} ${HB.label("delta_degC")})`, true];
    }
    const share = was ? (is - was) / Math.abs(was) : 0;
    const moved = share ? ` (${sign}${(100 * share).toPrecision(2)} %)` : "";
    return [moved, Math.abs(share) > desk.values["approval.notable"].value / 100];
  }

  /** What the changed values do to the first answer of every calculator: text by rank, the worst first. */
  function effects() {
    /** @type {[number, string][]} */
    const found = [];
    const before = (/** @type {string} */ key) => desk.values[key] || desk.facts[key];
    for (const name of Object.keys(desk.starts)) {
      if (!changedHere(name)) continue;
      const then = inputsOf(name, before);
      const now = inputsOf(name, (key) => (desk.values[key] ? current(key) : desk.facts[key]));
      const was = answer(name, then);
      const is = answer(name, now);
      const { title, results } = HB.declared[name];
      if (is.refused || was.refused) {
        if (is.refused !== was.refused) {
          found.push([
            is.refused ? 0 : 1,
            `${title}: ${is.refused ? `is refused: ${is.refused}` : "is no longer refused"}`,
          ]);
        }
        continue;
      }
      const given = [HB.given(name, then, was.results), HB.given(name, now, is.results)];
      for (const result of results) {
        const texts = [was, is].map((one, i) => HB.shownResult(result, one.results[result.name], given[i]));
        if (texts[0] === texts[1]) continue;
        const stops = (desk.starts[name].stops || {})[result.name] || [];
        const unsafe = stops.includes(is.results[result.name]) && !stops.includes(was.results[result.name]);
        const numbers = [was, is].map((one) => one.results[result.name]);
        const [moved, first] = movedBy(numbers[0], numbers[1], result.unit);
        const rank = unsafe ? 0 : first ? 1 : 2;
        found.push([rank, `${title}, ${result.about}: was ${texts[0]}, is ${texts[1]}${moved}`]);
      }
    }
    return found.sort((a, b) => a[0] - b[0]);
  }

  /* ---- the file ---- */

  /** @returns {HB.Written[]} */
  function written() {
    const found = [...drafts].map(([key, { text, grade, reason }]) => {
      const list = desk.values[key].input.form === "several" && !text.trim().startsWith("[");
      return { key, text: list ? `[${text.trim()}]` : text.trim(), reason: `${grade}: ${reason.trim()}` };
    });
    if (found.length && !drafts.has("house.status") && desk.values["house.status"].value !== "draft") {
      found.push({ key: "house.status", text: "draft", reason: "Chosen: changed, and not approved yet." });
    }
    return found;
  }

  /** Every fault that keeps the file from being saved. */
  function faults() {
    const found = [];
    for (const [key, draft] of drafts) {
      const value = read(key, draft.text);
      if ("fault" in value) found.push(`${key}: ${draft.text} ${value.fault}`);
      else if (!draft.reason.trim())
        found.push(`${key}: ${draft.text} has no reason; write why this value, and where it is from`);
    }
    return found.length ? found : contradictions();
  }

  const slug = () =>
    desk.name
      .toLowerCase()
      .normalize("NFKD")
      .replace(/[^a-z0-9]+/g, "-")
      .replace(/^-|-$/g, "") || "bench";

  /* ---- the page ---- */

  const parts = {
    picked: HB.make("input", {
      type: "text",
      id: "hb-desk-key",
      list: "hb-desk-keys",
      autocomplete: "off",
      spellcheck: "false",
    }),
    told: HB.make("p", { role: "status", class: "hb-desk-told" }),
    values: HB.make("div", {}),
    faults: HB.make("ul", { class: "hb-desk-faults", "aria-live": "assertive" }),
    unchecked: HB.make("div", {}),
    effects: HB.make("div", {}),
    file: HB.make("input", { type: "file", id: "hb-desk-file", accept: ".yml,.yaml,text/yaml" }),
    text: HB.make("textarea", { id: "hb-desk-text", readonly: "", rows: "12", spellcheck: "false" }),
  };

  function keep() {
    HB.store.set(KEPT, drafts.size ? Object.fromEntries(drafts) : undefined);
  }

  /** @param {string} key */
  function begin(key) {
    if (!isValue(key)) {
      parts.told.textContent = `There is no house value '${key}'; choose one of the list.`;
      return;
    }
    if (!drafts.has(key)) {
      const { written: text, reason } = desk.values[key];
      const colon = reason.indexOf(":");
      const grade = desk.grades[reason.slice(0, colon)] ? reason.slice(0, colon) : "Chosen";
      drafts.set(key, { text, grade, reason: "" });
    }
    keep();
    build();
    const field = document.getElementById(`hb-desk-${key}`);
    if (field) field.focus();
  }

  /** @param {string} key @param {Draft} draft */
  function editor(key, draft) {
    const { input, reason, written: before, limit } = desk.values[key];
    const field = HB.make("fieldset", { class: "hb-desk-value" });
    field.append(HB.make("legend", {}, key));
    field.append(
      HB.make(
        "p",
        {},
        `${input.about}. Now ${before}. Allowed: ${input.allowed}.${limit ? ` A limit: at ${limit} that is safe.` : ""}`,
      ),
    );
    /** @param {string} name @param {HTMLElement} control @param {string} text */
    function labelled(name, control, text) {
      control.id = name;
      field.append(HB.make("label", { for: name }, text), control);
    }
    const value = HB.make("input", { type: "text", autocomplete: "off", spellcheck: "false" });
    value.value = draft.text;
    if (input.form === "choice") {
      const list = HB.make("datalist", { id: `hb-desk-list-${key}` });
      for (const name of HB.lists[input.options]) list.append(HB.make("option", { value: name }));
      field.append(list);
      value.setAttribute("list", list.id);
    }
    labelled(`hb-desk-${key}`, value, "Value, with its unit");
    const grade = HB.make("select");
    for (const [name, meaning] of Object.entries(desk.grades))
      grade.append(HB.make("option", { value: name, title: meaning }, name));
    grade.value = draft.grade;
    labelled(`hb-desk-grade-${key}`, grade, "It rests on");
    const why = HB.make("input", { type: "text", maxlength: "500" });
    why.value = draft.reason;
    labelled(`hb-desk-why-${key}`, why, "Why this value, and where it is from");
    field.append(HB.make("p", { class: "hb-desk-before" }, `The reason so far: ${reason}`));
    const said = HB.make("p", { class: "hb-desk-said", role: "status" });
    field.append(said);
    function changed() {
      Object.assign(draft, { text: value.value, grade: grade.value, reason: why.value });
      keep();
      tell();
      refresh();
    }
    function tell() {
      const found = read(key, value.value);
      said.textContent =
        "fault" in found ? `${value.value} ${found.fault}` : `Reads as ${shown(key, found)}.`;
      value.setAttribute("aria-invalid", String("fault" in found));
    }
    for (const control of [value, grade, why]) control.addEventListener("input", changed);
    field.append(
      HB.button("Take back", () => {
        drafts.delete(key);
        keep();
        build();
        parts.picked.focus();
      }),
    );
    tell();
    return field;
  }

  /** @param {string} key @param {{value: any, ends?: [number, number]}} found */
  function shown(key, found) {
    const { input } = desk.values[key];
    const text = HB.shownValue(input, found.value);
    return found.ends ? `${text} (${found.ends.map((end) => HB.asGiven(end)).join(" to ")})` : text;
  }

  function refresh() {
    const wrong = faults();
    parts.faults.replaceChildren(...wrong.map((text) => HB.make("li", {}, text)));
    const unchecked = notChecked();
    parts.unchecked.replaceChildren();
    if (unchecked.length) {
      parts.unchecked.append(
        HB.make(
          "p",
          {},
          "Not checked in this page, but by the command check, because they must be reckoned:",
        ),
        listed(unchecked.map((text) => HB.make("li", {}, text))),
      );
    }
    parts.effects.replaceChildren();
    if (drafts.size) tellEffects();
    const result = HB.patched(opened ? opened.text : "", written());
    parts.text.value = wrong.length || result.fault ? "" : result.text;
    if (!wrong.length && result.fault)
      parts.faults.append(HB.make("li", {}, `${opened ? opened.name : ""}: ${result.fault}`));
    for (const button of HB.all(".hb-desk-save button", holder))
      button.disabled = !parts.text.value || !drafts.size;
  }

  /** @param {HTMLElement[]} items */
  function listed(items) {
    const list = HB.make("ul");
    list.append(...items);
    return list;
  }

  function tellEffects() {
    const found = effects();
    const heads = [
      "Unsafe or newly refused",
      "Moved by more than the house's share, and other words",
      "The rest",
    ];
    parts.effects.append(
      HB.make(
        "p",
        {},
        found.length
          ? `What it does to the first answer of ${found.length} results of calculators:`
          : "It changes the first answer of no calculator.",
      ),
    );
    heads.forEach((head, rank) => {
      const those = found.filter(([of]) => of === rank);
      if (!those.length) return;
      parts.effects.append(HB.make("h4", { class: rank ? "" : "hb-stop" }, `${head}: ${those.length}`));
      parts.effects.append(listed(those.map(([, text]) => HB.make("li", {}, text))));
    });
    const set = [...drafts].map(([key, { text }]) => `--set ${key}="${text}"`).join(" ");
    parts.effects.append(HB.make("p", {}, "Tables and pages besides: "));
    parts.effects.append(HB.make("pre", {}, `python -m handbook_calc changes ${set}`));
  }

  function save() {
    const name = opened ? opened.name : `${slug()}.yml`;
    const address = URL.createObjectURL(new Blob([parts.text.value], { type: "text/yaml" }));
    const link = HB.make("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 10000);
    parts.told.textContent = `Saved as ${name}: put it into the folder house, and name it in the settings if it is new.`;
  }

  function open() {
    const file = parts.file.files && parts.file.files[0];
    if (!file) return;
    file.text().then((text) => {
      opened = { name: file.name, text };
      const count = [...HB.entriesOf(text).values()].filter((entry) => entry.value).length;
      parts.told.textContent = `${file.name} is open: ${count} values, whose comments stay as they are.`;
      refresh();
    });
  }

  function build() {
    parts.values.replaceChildren(...[...drafts].map(([key, draft]) => editor(key, draft)));
    refresh();
  }

  function lay() {
    const keys = HB.make("datalist", { id: "hb-desk-keys" });
    for (const [key, { input }] of Object.entries(desk.values))
      keys.append(HB.make("option", { value: key }, input.about));
    const pick = HB.make("p", {});
    pick.append(
      HB.make("label", { for: "hb-desk-key" }, "House value "),
      parts.picked,
      keys,
      HB.button("Change", () => begin(parts.picked.value.trim())),
    );
    parts.picked.addEventListener("keydown", (event) => {
      if (event.key === "Enter") begin(parts.picked.value.trim());
    });
    const saving = HB.make("p", { class: "hb-desk-save" });
    saving.append(
      HB.button("Save as file", save),
      HB.button("Copy", () => {
        parts.told.textContent = HB.copy(parts.text.value)
          ? "Copied."
          : "Could not copy: mark the text and copy it.";
      }),
    );
    const file = HB.make("p", {});
    file.append(
      HB.make(
        "label",
        { for: "hb-desk-file" },
        "Your file of differences, if there is one: its comments are kept ",
      ),
      parts.file,
    );
    parts.file.addEventListener("change", open);
    holder.replaceChildren(
      pick,
      parts.told,
      parts.values,
      parts.faults,
      parts.unchecked,
      parts.effects,
      file,
      HB.make("label", { for: "hb-desk-text" }, "The file as it is to be saved"),
      parts.text,
      saving,
    );
  }

  HB.changeValue = begin;
  lay();
  build();
})((window.HB = window.HB || /** @type {any} */ ({})));
