/* The log of the reader's own piece on pieces/own-log.html: enter a reading with wet gloves on, paste rows, correct,
   save and open, and below it what the readings say. What is kept is the text of the file, see logged.js. */

(function (HB) {
  "use strict";

  const SHOWN = 30; // rows that stand on the screen before all are asked for
  const OPEN = ["late", "under way", "due"];
  const STRUCK = "struck out";
  const MOST_FAULTS = 20;
  const MOST_BYTES = 2_000_000;
  const MINUTE = 60_000; // ms
  const DAY = 24;

  const place = document.getElementById("hb-own-log");
  const number = HB.pieceName();
  if (!place || !number) return;
  const holder = place;
  const { facts, faults: wrong } = HB.readPiece(HB.pieces().get(number) || "");
  if (wrong.length) {
    const told = `The facts of ${number} cannot be read, so its log is not asked for anything.`;
    holder.replaceChildren(HB.make("p", {}, told), HB.make("p", {}, [saveButton()]));
    return;
  }
  const house = HB.edition.split(" ")[0];
  const { values, spans } = HB.planInputs(facts);
  let plan = HB.planOf(values, []);

  const fileName = () => `${HB.fileName(number)}.csv`;

  function saveButton() {
    const save = () => HB.saveFile(fileName(), HB.keptLog(number), "text/csv");
    return HB.button(`Save ${fileName()}`, save);
  }

  /** @param {[line: number, column: string, told: string]} fault */
  const faultText = ([line, column, told]) =>
    `${line ? `line ${line}` : "with the rows kept here"}: ${column ? `${column}: ` : ""}${told}`;

  /** @param {string} text @returns {string} */
  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

  /** @param {string} id */
  const stepTitle = (id) => (HB.planSteps.find((step) => step.id === id) || { title: id }).title;

  /* ---- what is kept ---- */

  const told = HB.make("div", { class: "hb-log-told", role: "status" });

  /** @param {(string | Node)[]} parts */
  const tell = (...parts) => told.replaceChildren(HB.make("p", {}, parts));

  /** @param {string} head @param {[number, string, string][]} faults */
  function refuse(head, faults) {
    const lines = faults.slice(0, MOST_FAULTS).map((fault) => HB.make("li", {}, faultText(fault)));
    const more = faults.length - lines.length;
    if (more > 0) lines.push(HB.make("li", {}, `and ${more} more`));
    told.replaceChildren(HB.make("p", {}, head), HB.make("ul", {}, lines));
  }

  /* A cell as people read it: 14.53 oz_avdp is 14.53 oz (avoirdupois). What is kept stays as it was typed. */
  /** @param {string} text */
  const readable = (text) =>
    text.replace(/(\d )([a-zA-Z_^\d/]+)/g, (_, ahead, unit) => `${ahead}${HB.label(unit)}`);

  /* What rows that are not kept yet give to look at, beside what was found before. */
  /** @param {string} text @returns {Node[]} */
  function newFinds(text) {
    const time = HB.logNow();
    const known = new Set(HB.logFinds(log, facts, time));
    const found = HB.logFinds(HB.readLog(text), facts, time).filter((one) => !known.has(one));
    return found.map((one) => HB.make("strong", { class: "hb-log-find" }, `Look at this: ${readable(one)} `));
  }

  /* Kept, or given to the reader as a file where this browser keeps nothing. */
  /** @param {string} text @param {(string | Node)[]} parts */
  function keep(text, ...parts) {
    if (HB.keepLog(number, text)) tell(...parts);
    else {
      tell(
        "This browser keeps nothing from here: it is full, or it refuses. The log is saved as a file now.",
      );
      HB.saveFile(fileName(), text, "text/csv");
    }
    refresh();
  }

  /* ---- one reading ---- */

  /** @typedef {{cell: () => string, fill: (text: string) => void, parts: HTMLElement[]}} Cell */

  /** @param {string} id @param {string} label @param {HTMLElement[]} controls @param {string} [help] */
  function line(id, label, controls, help) {
    controls[0].setAttribute("aria-describedby", help ? `${id}-help ${id}-error` : `${id}-error`);
    return HB.make("div", { class: "hb-log-field" }, [
      HB.make("label", { for: id }, label),
      HB.make("div", { class: "hb-log-controls" }, controls),
      ...(help ? [HB.make("span", { class: "hb-help", id: `${id}-help` }, help)] : []),
      HB.make("span", { class: "hb-error", id: `${id}-error` }),
    ]);
  }

  /** @param {string} id @param {Record<string, string>} [more] */
  function input(id, more) {
    const all = { id, type: "text", autocomplete: "off", spellcheck: "false" };
    return HB.make("input", { ...all, ...more });
  }

  /* A number with its unit beside it; the unit goes into the row, where none was typed. */
  /** @param {string} id @param {HB.LogCell} declared @returns {Cell} */
  function numberCell(id, declared) {
    const { unit, form } = declared;
    const control = input(id, { inputmode: "decimal" });
    const units = [unit, ...(HB.menus[unit] || [])];
    const menu = HB.make("select", { "aria-label": `Unit of ${declared.about}` });
    for (const one of units) menu.append(HB.make("option", { value: one }, HB.label(one)));
    const readers = HB.readersUnit(unit);
    menu.value = units.includes(readers) ? readers : unit;
    const alone = HB.make("span", { class: "hb-unit" }, HB.label(unit));
    const below = HB.make("input", { type: "checkbox", id: `${id}-below` });
    const parts = [control, units.length > 1 ? menu : alone];
    if (form === "reading")
      parts.push(
        HB.make("label", { class: "hb-log-below" }, [below, " less than this: below what the test sees"]),
      );
    return {
      parts,
      cell() {
        const typed = control.value.trim();
        if (!typed) return "";
        const text = below.checked && !typed.startsWith("<") ? `< ${typed}` : typed;
        const parts = HB.reading.number_apart(text, unit);
        const bare = parts[0] !== "fault" && !parts[2];
        return bare ? `${text} ${menu.value}` : text;
      },
      fill(text) {
        const apart = /^(<?)\s*(.*\S)\s+(\S+)$/.exec(text);
        const known = apart && units.includes(apart[3]) && (form === "reading" || !apart[1]);
        if (known) menu.value = apart[3];
        below.checked = Boolean(known && apart[1]);
        control.value = known ? apart[2] : text;
      },
    };
  }

  /** @param {string} id @param {HB.LogCell} declared @returns {Cell} */
  function otherCell(id, declared) {
    if (declared.form !== "choice") return typed(input(id));
    const menu = HB.make("select", { id });
    const due = openSteps();
    const options = [...(declared.options || [])];
    const first = options.filter((option) => due.includes(option));
    for (const option of [...first, ...options.filter((one) => !due.includes(one))])
      menu.append(HB.make("option", { value: option }, stepTitle(option)));
    return typed(menu);
  }

  /** @param {HTMLInputElement | HTMLSelectElement} control @returns {Cell} */
  function typed(control) {
    return {
      parts: [control],
      cell: () => control.value.trim(),
      fill(text) {
        control.value = text;
      },
    };
  }

  /** @param {string} id @param {HB.LogCell} declared */
  const cellFor = (id, declared) =>
    ["quantity", "reading"].includes(declared.form) ? numberCell(id, declared) : otherCell(id, declared);

  const kinds = HB.make("select", { id: "hb-log-what" });
  const when = input("hb-log-when", { type: "datetime-local" });
  const note = input("hb-log-note");
  const edition = input("hb-log-edition");
  edition.value = house;
  const asked = HB.make("div", { class: "hb-log-asked" });
  const about = HB.make("p", { class: "hb-log-about" });
  const done = HB.make("button", { type: "submit", class: "hb-log-add" });
  const others = HB.make("span", { class: "hb-log-others" });
  /** @type {{value: Cell | null, with: Cell | null}} */
  let cells = { value: null, with: null };
  /** @type {HB.LogEntry | null} */
  let corrected = null;
  let timed = false;

  function now() {
    when.value = HB.logTime(HB.logNow()).replace(" ", "T");
    timed = false;
  }

  /* What is asked of a kind of reading; what stood in its second cell is mostly the same again. */
  function ask() {
    const kind = HB.logKinds.find(({ name }) => name === kinds.value);
    if (!kind) return;
    cells = { value: null, with: null };
    asked.replaceChildren();
    about.textContent = `${capital(kind.about)}.`;
    for (const name of /** @type {const} */ (["value", "with"])) {
      const declared = kind[name];
      if (!declared) continue;
      const cell = cellFor(`hb-log-${name}`, declared);
      cells[name] = cell;
      const may = declared.optional ? " Leave it empty where the house's own holds." : "";
      const help = declared.form === "choice" ? "" : `Allowed: ${declared.allowed}.${may}`;
      asked.append(line(`hb-log-${name}`, capital(declared.about), cell.parts, help));
    }
    HB.textsInUS(asked);
  }

  /** @param {HB.LogEntry | null} entry */
  function correct(entry) {
    corrected = entry;
    for (const name of Object.keys(HB.logColumns)) mark(name, "");
    done.textContent = entry ? `Enter it in the place of row ${entry.row}` : "Enter the reading";
    others.replaceChildren();
    edition.value = entry ? entry.edition : house;
    if (!entry) {
      now();
      return;
    }
    kinds.value = entry.what;
    ask();
    when.value = HB.logTime(entry.at).replace(" ", "T");
    timed = true;
    if (cells.value) cells.value.fill(entry.text);
    if (cells.with) cells.with.fill(entry.with);
    note.value = entry.note;
    const strike = HB.button(`Strike row ${entry.row} out`, () => {
      if (strike.dataset.sure) add({ what: STRUCK, when: HB.logTime(HB.logNow()) });
      else {
        strike.dataset.sure = "yes";
        strike.textContent = `Really strike row ${entry.row} out? It stays, struck through`;
      }
    });
    others.append(
      strike,
      HB.button("Leave it as it is", () => leave()),
    );
    tell(`Row ${entry.row} stays in the log. What you enter now counts in its place.`);
    form.scrollIntoView({ block: "start" });
    kinds.focus();
  }

  function leave() {
    correct(null);
    if (cells.value) cells.value.fill("");
    note.value = "";
    told.replaceChildren();
  }

  /* What is allowed, in the reader's units. */
  const inUS = (/** @type {string} */ why) => (HB.prefersUS() ? HB.faultInUS(why) : why);

  /** @param {string} name @param {string} why */
  function mark(name, why) {
    const error = document.getElementById(`hb-log-${name}-error`);
    const control = document.getElementById(`hb-log-${name}`);
    if (error) error.textContent = inUS(why);
    if (control) control.setAttribute("aria-invalid", String(Boolean(why)));
    return error && why ? control : null;
  }

  /** @param {Record<string, string>} row */
  function add(row) {
    const corrects = corrected ? String(corrected.row) : "";
    const whole = { note: note.value.trim(), edition: edition.value.trim(), corrects, ...row };
    const found = HB.addedRow(HB.keptLog(number), whole);
    for (const name of Object.keys(HB.logColumns)) mark(name, "");
    if (found.faults.length) {
      const controls = found.faults.map(([, column, why]) => mark(column, why));
      const first = controls.find(Boolean);
      tell(`Not entered: ${found.faults.map(([, column, why]) => `${column}: ${inUS(why)}`).join("; ")}.`);
      if (first) first.focus();
      return;
    }
    const entry = HB.readLog(found.text).entries.find((one) => one.row === found.row);
    const value = readable(row.value || "");
    const said = `Row ${found.row} is entered: ${[row.what, value].filter(Boolean).join(", ")}. `;
    const finds = newFinds(found.text);
    correct(null);
    if (cells.value) cells.value.fill("");
    note.value = "";
    const again = entry && row.what !== STRUCK ? [correctButton(entry)] : [];
    keep(found.text, said, ...finds, ...again);
  }

  /** @param {HB.LogEntry} entry */
  const correctButton = (entry) => HB.button(`Correct row ${entry.row}`, () => correct(entry));

  const form = HB.make("form", { class: "hb-log-entry", novalidate: "" }, [
    line("hb-log-what", "What was read", [kinds]),
    about,
    asked,
    line("hb-log-when", "When, by this device's clock", [when]),
    line("hb-log-note", "Note", [note], "Empty where there is nothing to remember."),
    HB.make("details", {}, [
      HB.make("summary", {}, `Read by edition ${house} of the house standard`),
      line(
        "hb-log-edition",
        "Edition by which it was read",
        [edition],
        "Another where an old reading is entered.",
      ),
    ]),
    HB.make("p", { class: "hb-log-tools" }, [done, others]),
  ]);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    add({
      what: kinds.value,
      when: when.value.replace("T", " ").slice(0, 16),
      value: cells.value ? cells.value.cell() : "",
      with: cells.with ? cells.with.cell() : "",
    });
  });
  kinds.addEventListener("change", ask);
  when.addEventListener("input", () => {
    timed = true;
  });
  window.setInterval(() => timed || now(), MINUTE / 2);

  /* The kinds of reading: those of the steps that ask for somebody first. */
  function offerKinds() {
    const chosen = kinds.value;
    const due = openSteps();
    const offered = HB.logKinds.filter(({ name }) => name !== STRUCK);
    /** @type {[string, HB.LogKind[]][]} */
    const groups = due.map((id) => [stepTitle(id), offered.filter(({ step }) => step === id)]);
    groups.push(["At any step", offered.filter(({ step }) => !step)]);
    groups.push(["Other steps", offered.filter(({ step }) => step && !due.includes(step))]);
    const made = groups
      .filter(([, some]) => some.length)
      .map(([label, some]) => {
        const options = some.map(({ name }) => HB.make("option", { value: name }, name));
        return HB.make("optgroup", { label }, options);
      });
    kinds.replaceChildren(...made);
    if (chosen) kinds.value = chosen;
    else ask();
  }

  /* ---- rows from a spreadsheet, and files ---- */

  function pasting() {
    const text = HB.make("textarea", {
      id: "hb-log-rows",
      rows: "6",
      spellcheck: "false",
      "aria-describedby": "hb-log-rows-help",
    });
    const help = HB.make("p", { id: "hb-log-rows-help", class: "hb-help" });
    help.append(
      "Copy the rows in the spreadsheet and paste them here. With a heading their columns may stand in any order: ",
      HB.make("code", {}, HB.log.heading_line()),
      ". Without one they begin with the day: when, what, value, with, note. Rows without a number get the next ones. One wrong row, and none is entered.",
    );
    const enter = HB.button("Enter the rows", () => {
      const found = HB.withRows(HB.keptLog(number), text.value, edition.value.trim());
      if (found.faults.length) {
        refuse("Nothing was entered. In what you pasted:", found.faults);
        return;
      }
      text.value = "";
      const said = found.added === 1 ? "One row is entered. " : `${found.added} rows are entered. `;
      keep(found.text, said, ...newFinds(found.text));
    });
    return HB.make("details", { class: "hb-log-paste" }, [
      HB.make("summary", {}, "Paste rows from a spreadsheet"),
      HB.make("label", { for: "hb-log-rows" }, "Rows"),
      text,
      help,
      enter,
    ]);
  }

  /** @param {HTMLInputElement} file */
  async function open(file) {
    const [chosen] = file.files || [];
    file.value = "";
    if (!chosen) return;
    const refused = `${chosen.name} is refused whole, and nothing was changed:`;
    if (chosen.size > MOST_BYTES) {
      refuse(refused, [[1, "", "holds more than 2 MB, which no log does"]]);
      return;
    }
    const bytes = await chosen.arrayBuffer();
    let text;
    try {
      // With the mark that a spreadsheet put before it, so that it is saved again as it came.
      text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
    } catch {
      const [before] = new TextDecoder().decode(bytes).split("\ufffd");
      refuse(refused, [[before.split("\n").length, "", "is not UTF-8 text; save it as UTF-8"]]);
      return;
    }
    const { faults, entries } = HB.readLog(text);
    if (faults.length) {
      refuse(refused, faults);
      return;
    }
    const kept = HB.keptLog(number);
    const lost = HB.lostRows(kept, entries);
    const said = `${chosen.name} is the log of ${number} now: ${entries.length} rows.`;
    if (!lost.length) {
      keep(text, said);
      return;
    }
    const instead = HB.button(`Save the log kept here, then take ${chosen.name}`, () => {
      HB.saveFile(fileName(), kept, "text/csv");
      keep(text, `${said} The log before it was saved as a file.`);
    });
    const rows = `${lost.slice(0, MOST_FAULTS).join(", ")}${lost.length > MOST_FAULTS ? " and more" : ""}`;
    tell(
      `Nothing was changed: ${chosen.name} lacks what is kept here, or has it otherwise, in row ${rows}. `,
      instead,
    );
  }

  function tools() {
    const file = HB.make("input", { type: "file", id: "hb-log-file", accept: ".csv,text/csv" });
    file.addEventListener("change", () => open(file));
    return HB.make("p", { class: "hb-log-tools" }, [
      saveButton(),
      HB.make("label", { for: "hb-log-file" }, "Open a log's file "),
      file,
    ]);
  }

  /* ---- what it says ---- */

  const result = HB.make("div", { class: "hb-log-result" });
  /* Before the first row there is a heading and nothing below it. */
  const logNow = () => HB.readLog(HB.keptLog(number) || HB.log.heading_line());
  let log = logNow();
  /** @type {Record<string, HB.StepState>} */
  let states = {};

  const openSteps = () =>
    OPEN.flatMap((word) => Object.keys(states).filter((id) => states[id].word === word));

  /** @param {HB.Said & {answer: HB.LogAnswer}} said */
  function linesOf({ name, answer }) {
    const { values: given, results, spread } = answer;
    const intervals = HB.seenIntervals(name, results, spread);
    const named = HB.given(name, given, results, intervals);
    /** @type {HTMLElement[]} */
    const found = [];
    for (const declared of HB.declared[name].results) {
      const value = results[declared.name];
      if (value === null || declared.kind === "listing") continue;
      if (declared.words) {
        const sentence = `: ${HB.sentence(declared, value, named)}`;
        found.push(HB.make("li", {}, [HB.make("strong", {}, value), sentence]));
        continue;
      }
      const shown = HB.answerText({ name, declared, values: given, results, spread, value });
      if (shown === "" || shown === "none") continue;
      found.push(
        HB.make("li", {}, declared.unit === "text" ? shown : `${capital(declared.about)}: ${shown}`),
      );
    }
    return found;
  }

  /** @param {HB.Said[]} says */
  function answers(says) {
    const parts = [];
    for (const said of says) {
      const { answer } = said;
      if (!answer) continue;
      parts.push(
        HB.make("p", {}, [HB.make("strong", {}, said.title)]),
        HB.make("ul", {}, linesOf({ ...said, answer })),
      );
    }
    const lacking = says
      .filter(({ answer }) => !answer)
      .map(({ title, lacks, refused }) => HB.make("li", {}, `${title}: ${lacks || `refused: ${refused}`}`));
    if (lacking.length)
      parts.push(
        HB.make("details", {}, [
          HB.make("summary", {}, "What is not asked yet, and why"),
          HB.make("ul", {}, lacking),
        ]),
      );
    return parts;
  }

  /** @param {ReturnType<typeof HB.continuedPlan>} ahead */
  function standing({ steps, start, states: all }) {
    const day = (/** @type {number | null} */ hours) =>
      hours === null || !start ? "" : HB.logTime(HB.log.hours_of(start)[1] - DAY / 2 + hours).slice(0, 10);
    const words = Object.entries(all);
    const done = words.filter(([, { word }]) => word === "done").length;
    const lines = steps
      .filter(({ id }) => all[id] && OPEN.includes(all[id].word))
      .map(({ id, end }) => {
        const { word, due } = all[id];
        const since = word === "late" ? `, due since ${day(due)}` : "";
        const until = word === "under way" ? `, likely until ${day(end)}` : "";
        const link = HB.make("a", { href: HB.inSite(`procedures/${id}.html`) }, stepTitle(id));
        return HB.make("li", {}, [HB.make("strong", {}, capital(word)), ": ", link, `${since}${until}`]);
      });
    const named = (/** @type {string} */ word) =>
      words
        .filter(([, one]) => one.word === word)
        .map(([id]) => stepTitle(id))
        .join(", ");
    const rest = ["done", "not marked", "ahead"].filter(named);
    return [
      HB.make(
        "p",
        {},
        `${done} of ${words.length} steps are marked as done. A step is done when a row says so.`,
      ),
      HB.make("ul", {}, lines),
      HB.make(
        "ul",
        {},
        rest.map((word) => HB.make("li", {}, `${capital(word)}: ${named(word)}`)),
      ),
      HB.make("p", {}, [
        HB.make("a", { href: HB.inSite("pieces/own.html") }, `The plan of ${number}`),
        " goes on from here.",
      ]),
    ];
  }

  /** @param {HB.Log} read @param {number} most */
  function table(read, most) {
    const counting = new Set(read.standing.map(({ row }) => row));
    const gone = new Map(read.entries.filter((one) => one.corrects).map((one) => [one.corrects, one.row]));
    const title = `Log of ${number}, by edition ${house} of the house standard`;
    const drawn = HB.make("table", { class: "hb hb-log-rows" });
    drawn.append(HB.make("caption", {}, title));
    const top = drawn.createTHead();
    const of = top.insertRow(); // the head of a table stands on every sheet of it
    of.className = "hb-log-of";
    of.append(HB.make("td", { colspan: String(Object.keys(HB.logColumns).length + 1) }, title));
    const head = top.insertRow();
    for (const name of Object.keys(HB.logColumns)) head.append(HB.make("th", { scope: "col" }, name));
    head.cells[0].after(HB.make("td", { class: "hb-log-act" }));
    const body = drawn.createTBody();
    for (const entry of read.entries.slice(-most)) {
      const row = body.insertRow();
      const counts = counting.has(entry.row);
      row.append(HB.make("th", { scope: "row" }, String(entry.row)));
      const { at, what, text, with: by, note: words, edition: readBy, corrects } = entry;
      const act = row.insertCell();
      act.className = "hb-log-act";
      const later = gone.get(entry.row);
      if (later) act.textContent = `see ${later}`;
      else if (what !== STRUCK) {
        const button = HB.button("Correct", () => correct(entry));
        button.setAttribute("aria-label", `Correct row ${entry.row}`);
        act.append(button);
      }
      for (const cell of [HB.logTime(at), what, readable(text), readable(by), words, readBy, corrects ? String(corrects) : ""])
        row.insertCell().append(counts || !cell ? cell : HB.make("s", {}, cell));
    }
    return HB.make("div", { class: "hb-scroll", tabindex: "0", role: "group", "aria-label": title }, [drawn]);
  }

  /** @param {HB.Log} read */
  function rows(read) {
    const box = HB.make("div", {});
    const all = () => box.replaceChildren(table(read, read.entries.length));
    const many = read.entries.length > SHOWN;
    box.append(table(read, many ? SHOWN : read.entries.length));
    if (many) box.prepend(HB.button(`Show all ${read.entries.length} rows`, all, "hb-log-all"));
    showAll = many ? all : () => {};
    return box;
  }

  let showAll = () => {};
  window.addEventListener("beforeprint", () => showAll()); // paper carries every row

  function refresh() {
    log = logNow();
    form.hidden = log.faults.length > 0;
    if (log.faults.length) {
      const head =
        "The log kept here cannot be read by this edition. Save its file, mend it and open it again:";
      refuse(head, log.faults);
      result.replaceChildren();
      return;
    }
    const time = HB.logNow();
    const says = HB.logSays(log, facts, time);
    const start = (facts.get("wanted.start") || { value: null }).value;
    const ahead = HB.continuedPlan(plan, log, says, start, time);
    states = ahead.states;
    offerKinds();
    if (!log.entries.length) {
      result.replaceChildren(HB.make("p", {}, "No row is entered yet."));
      return;
    }
    const finds = HB.logFinds(log, facts, time).map((one) => HB.make("li", {}, readable(one)));
    const count = `${log.entries.length} ${log.entries.length === 1 ? "row" : "rows"}`;
    const editions = [...new Set(log.entries.map((entry) => entry.edition))].sort().join(", ");
    result.replaceChildren(
      HB.make(
        "p",
        {},
        `At ${HB.logTime(time)}: ${count}, read by edition ${editions}; ${log.standing.length} count.`,
      ),
      ...(finds.length
        ? [HB.make("h2", {}, "Look at this"), HB.make("ul", { class: "hb-log-finds" }, finds)]
        : []),
      HB.make("h2", {}, "Where the plan stands"),
      ...(log.standing.length ? standing(ahead) : []),
      HB.make("h2", {}, "What the readings say"),
      ...answers(says),
      ...HB.logCharts(log, says, facts),
      HB.make("h2", {}, "Every row"),
      HB.make(
        "p",
        { class: "hb-help" },
        "Rows that do not count are struck through: corrected, struck out, or such as cannot be true.",
      ),
      rows(log),
    );
    HB.textsInUS(holder);
  }

  holder.replaceChildren(
    HB.make("p", {}, [
      `What is read of ${number} goes in below. `,
      HB.make("a", { href: HB.inSite("reference/log.html") }, "What counts, and how"),
      ".",
    ]),
    form,
    told,
    pasting(),
    tools(),
    result,
  );
  refresh();
  correct(null);
  // What the plan may take decides what is late; it is hundreds of runs, and comes after the page.
  window.setTimeout(() => {
    plan = HB.planOf(values, spans);
    refresh();
    holder.dataset.ready = "yes";
  }, 50);
  HB.onLog(number, refresh);
  document.addEventListener("hb-units", refresh);
})((window.HB = window.HB || /** @type {any} */ ({})));
