/* What the scripts of this folder say to each other; read by the type checker only, never published. */

declare namespace HB {
  /** A declared step of the plan, as engine/plan_script.py writes it. */
  interface Step {
    id: string;
    title: string;
    beside: string;
    needed: boolean;
    sentences: Record<string, string>;
    figures: Record<string, { unit: string; about: string; digits: number }>;
    cautions: string[];
    record: string[];
    keys: string[];
  }

  /** What the function of a step gives: codes with numbers, and hours. */
  interface StepResult {
    applies: boolean;
    why: any[];
    refused: any;
    figures: Record<string, number | null>;
    segments: any[][];
    attended: number;
    uses: [string, number][];
    holds: any[][];
    says: Record<string, any>;
  }

  /** A fact or house value that is known as a span. */
  interface PlanSpan {
    key: string;
    value: number;
    low: number;
    high: number;
    unit: string;
    least: number;
    most: number;
  }

  interface Amount {
    value: number;
    low: number;
    high: number;
    unit: string;
  }

  interface PlannedStep {
    id: string;
    applies: boolean;
    why: string;
    refused: string | null;
    figures: Record<string, Amount>;
    takes: Amount;
    attended: Amount;
    holds: string[];
    begin: number | null;
    end: number | null;
    hands: [number, number][];
  }

  /** A fact of a piece: how it is read, and what is taken where it is open. See handbook_calc/own.py. */
  interface OwnFact extends Input {
    instead: { words: string[]; taken: string; costs: string }[];
    pattern?: string;
  }
  /** A fact as it was read; `costs` says what it costs that nobody knows it. */
  interface OwnValue {
    value: any;
    ends?: [number, number];
    line: number;
    text: string;
    costs?: string;
    computed?: boolean;
  }
  /** How an open fact follows from others. */
  interface Derivation {
    fact: string;
    calculation: string;
    inputs: Record<string, string>;
    slots: string[];
    alike: string;
    needs: string;
  }
  /** How a figure follows the facts: a run of a calculation, or a fact times a number. An input is a fact's key,
      a value with its span and the key of that, or a run in turn. */
  type Program =
    | { fact: string; times: number }
    | { run: string; result: string; inputs: Record<string, any>; times?: number };
  interface OwnAnswer {
    name: string;
    declared: Result;
    values: Values;
    results: Values;
    spread: Spread | null;
    value: any;
  }
  type OwnTable =
    | { instead: string[] }
    | { columns: [unit: string, digits: number][]; cells: Record<string, Program> };
  interface Own {
    example: string;
    facts: Record<string, OwnFact>;
    lists: any[][];
    called: Record<string, string>[];
    most: number;
    template: string;
    derived: Derivation[];
    sides: string[];
    /** by input: a fact, a run, or nothing where the example's figure stands */
    starts: Record<string, Record<string, string | Program>>;
    coatings: string[];
    coats: Record<string, Record<string, any[]>>;
    figures: Record<string, Program>;
    tables: Record<string, OwnTable>;
    pages: Record<string, string>;
    handier: [unit: string, side: "from" | "below", edge: number, other: string][];
  }

  /** How a cell of a kind of reading is read: see engine/entries.py. */
  interface LogCell {
    about: string;
    form: "quantity" | "reading" | "choice" | "words";
    unit: string;
    optional: boolean;
    allowed: string;
    options?: string[];
  }
  interface LogKind {
    name: string;
    about: string;
    step: string;
    value: LogCell | null;
    with: LogCell | null;
  }
  /** A row of a log as it was read; `at` in hours since 2000, `text` and `with` as written. */
  interface LogEntry {
    row: number;
    at: number;
    what: string;
    step: string;
    value: any;
    by: number | string | null;
    possible: boolean;
    text: string;
    with: string;
    note: string;
    edition: string;
    corrects: number;
    odd: string;
    allowed: string;
    line: number;
  }
  type LogFault = [line: number, column: string, told: string];
  interface Log {
    faults: LogFault[];
    entries: LogEntry[];
    standing: LogEntry[];
    lines: number[];
    rows: string[][];
  }
  interface LogAnswer {
    values: Values;
    results: Values;
    spread: Spread | null;
  }
  /** What a calculation says of a log: its answer, or what the log lacks, or why it is refused. */
  interface Said {
    name: string;
    title: string;
    answer?: LogAnswer;
    lacks?: string;
    refused?: string;
  }
  interface StepState {
    word: string;
    due: number;
  }
  interface LogChart {
    name: string;
    title: string;
    x: string;
    y: string;
    /** where the y axis begins, if not near what is drawn */
    low?: number;
    /** a y of null breaks the line */
    points: [number, number | null][];
    limits: [name: string, at: number][];
    says: string;
  }
  interface Plan {
    grade: string;
    refused: string | null;
    steps: PlannedStep[];
    totals: Record<string, Amount>;
    takes: Amount;
  }

  /** An input of a calculation, as engine/forms.py declares it. Which entries are there depends on `form`. */
  interface Input {
    name: string;
    form: "quantity" | "count" | "reading" | "choice" | "several" | "yesno" | "rows" | "words";
    about: string;
    allowed: string;
    unit: string;
    low: number;
    high: number;
    why?: string;
    /** which list of `HB.lists` it picks from */
    options: number;
    /** which entry of `HB.called` tells its other names */
    called?: number;
    kind: string;
    least: number;
    most: number;
    columns: Input[];
    house?: string;
    /** which end of the span of the house's value it starts from */
    end?: "low" | "high";
    family?: string;
    optional?: boolean;
    /** the fact of a piece that its example is */
    follows?: string;
  }

  /** What the search looks through: see hooks/handbook_site/search.py. */
  interface Found {
    pages: {
      url: string;
      title: string;
      kind: string;
      weight: number;
      called: string[];
      /** the numbers are those of its passages in `texts` */
      sections: [anchor: string, heading: string, ...passages: number[]][];
    }[];
    /** every passage once */
    texts: string[];
    /** what readers type, and what the handbook says */
    instead: [typed: string, meant: string][];
    /** what readers type, and the folder of pages that is meant */
    prefer: [typed: string, folder: string][];
  }

  /** What the codes of printed sheets are worth: see handbook_calc/printed.py. */
  interface Sheets {
    editions: { title: string; approved: boolean }[];
    now: number;
    /** by page: title, address, code */
    sheets: Record<string, [title: string, url: string, code: string]>;
    codes: Record<string, [edition: number, page: string]>;
    differing: Record<string, { what: string; told: string[] }>;
  }

  /** Why a figure is what it is: see handbook_calc/reasons.py. */
  interface WhyFigure {
    calculation: string;
    about: string;
    refused: string;
    inputs: [about: string, text: string, key: string][];
    working: string[];
    notes: string[];
    assumes: string[];
    values: string[];
    sources: string[];
  }
  interface WhyTable {
    title: string;
    calculations: string[];
    values: string[];
    sources: string[];
  }
  interface WhyValue {
    fact: boolean;
    address: string;
    about: string;
    text: string;
    allowed: string;
    grade: string;
    why: string;
    place: string;
    tables: [name: string, url: string][];
    pages: [title: string, url: string][];
    calculations: string[];
  }
  interface Why {
    figures: Record<string, WhyFigure>;
    tables: Record<string, WhyTable>;
    values: Record<string, WhyValue>;
    calculations: Record<string, string>;
    sources: Record<string, string>;
    pages: { sources: string; calculations: string };
  }

  /** A house value as it is to be written into a file; an empty reason leaves the comment as it is. */
  interface Written {
    key: string;
    text: string;
    reason: string;
  }
  interface Entry {
    line: number;
    from: number;
    to: number;
    end: number;
    start: number;
    indent: number;
    value: string;
    odd: boolean;
  }

  /** What the page of the house standard writes with: see handbook_calc/desk.py. */
  interface DeskValue {
    input: Input;
    written: string;
    value: any;
    ends?: [number, number];
    reason: string;
    file: string;
    line: number;
    limit?: "most" | "least";
    pattern?: string;
    spelled?: boolean;
  }
  /** A fact of the piece: reckoned with, and written in the piece's own file. */
  interface DeskFact {
    value: any;
    unit: string;
    ends?: [number, number];
  }
  interface DeskStart {
    values: Values;
    follows?: Record<string, string>;
    stops?: Record<string, string[]>;
    ends?: Record<string, "low" | "high">;
  }
  interface Desk {
    values: Record<string, DeskValue>;
    facts: Record<string, DeskFact>;
    lists: any[][];
    called: Record<string, string>[];
    grades: Record<string, string>;
    pairs: [key: string, sign: string, other: string, because: string][];
    reckoned: { says: string; keys: string[] }[];
    starts: Record<string, DeskStart>;
    file: string;
    name: string;
  }

  interface Hit {
    url: string;
    title: string;
    kind: string;
    score: number;
    sections: { anchor: string; heading: string; text: string }[];
  }

  /** A result of a calculation, or a column of a listing. */
  interface Result {
    name: string;
    about: string;
    unit: string;
    kind: "number" | "whole" | "verdict" | "reasons" | "listing" | string;
    digits: number;
    /** it stays in its unit for all readers */
    metric?: boolean;
    /** to which it is rounded: 1 up, -1 down; to the nearest where it is left out */
    side?: number;
    without?: string;
    /** the most that can be true, and what is said of more */
    most?: number;
    beyond?: string;
    words?: Record<string, string>;
    sentences?: Record<string, string>;
    columns: Result[];
  }

  /** What a sentence may name: words, or a number and how it is told. */
  interface Figure {
    value: number;
    unit: string;
    digits: number;
    side?: number;
  }
  type Told = string | Figure;

  interface Declared {
    title: string;
    inputs: Input[];
    results: Result[];
    refusals: Record<string, string>;
  }

  /** What a value is read from: a text and the unit beside it, or the cells of a grid.
      `exact` is the number itself, where the page prints it rounded and nobody has typed another. */
  interface Source {
    text: string;
    unit: string;
    exact?: number;
    /** the ends of its span, beside `exact` */
    ends?: [number, number];
    cells?: string[][];
    /** whether it is of the log of the piece that is chosen */
    logged?: boolean;
  }

  interface CellFault {
    row: number;
    column: number;
    message: string;
  }

  interface Grid {
    cells(): string[][];
    fill(cells: string[][]): void;
    mark(faults: CellFault[]): void;
  }

  /** An input element or a select: what is asked of it, both have or lack harmlessly. */
  interface Control extends HTMLElement {
    value: string;
    defaultValue: string;
    options?: HTMLOptionsCollection;
  }

  interface Field {
    input: Input;
    control: Control;
    grid: Grid | null;
    /** the menu of units; none where only one fits */
    menu: HTMLSelectElement | null;
    /** what it offers, the declared unit first; nothing without a menu */
    units: string[];
    help: HTMLElement;
    helpText: string;
    error: HTMLElement;
    /** what the page was printed with */
    printed: Source;
    /** what the field starts from now: as printed, or of the chosen entry of the house's list */
    start: Source;
    source: Source;
    /** whether a reader typed into it: then another entry of the house's list brings nothing for it */
    touched: boolean;
    /** what stood in it when it was last looked at */
    seen: string;
    /** says that the figure is the example's, where pages answer for another piece */
    example?: HTMLElement;
  }

  interface Calculator {
    box: HTMLDetailsElement;
    bench: HTMLElement;
    name: string;
    declared: Declared;
    fields: Map<string, Field>;
    /** whether its answer is still the one that the page was printed with */
    fresh: boolean;
    /** what is to be computed after the next frame */
    later?: number;
    /** whether filling in its fields has not come to its end */
    halfFilled?: boolean;
    /** what was typed into it when it was last kept, or brought back */
    kept: Record<string, Source>;
    /** called after each edit */
    changed(calculator: Calculator): void;
  }

  interface Store {
    get(name: string): any;
    set(name: string, value: any): boolean;
    merge(name: string, was: Record<string, any>, is: Record<string, any>): boolean;
    subscribe(name: string, listener: (value: any) => void): () => void;
  }

  /** The part of a window that a store needs. */
  interface StoreHost {
    readonly localStorage: Pick<Storage, "getItem" | "setItem" | "removeItem">;
    addEventListener(kind: "storage", listener: (event: StorageEvent) => void): void;
    addEventListener(kind: "pagehide" | "pageshow", listener: (event: PageTransitionEvent) => void): void;
  }

  type Values = Record<string, any>;
  /** low and high of the inputs that are known as spans, in their declared units */
  type Spans = Record<string, [number, number]>;

  /** What a numeric result may really be, and the inputs that move it most. */
  interface Interval {
    low: number;
    high: number;
    dominant: string[];
  }

  /** A verdict that another value of one input, inside its span, would change. */
  interface Flip {
    word: string;
    input: Input;
    above: boolean;
    edge: number;
    value: number;
  }

  interface Spread {
    intervals: Record<string, Interval>;
    flips: Record<string, Flip[]>;
    /** share of the trials that have no answer, and the reason of the first of these */
    refused: number;
    reason: string;
  }

  interface Finder {
    ask(question: string): Hit[];
    meant(question: string): string[];
  }

  interface Namespace {
    finder(found: Found): Finder;
    folded(text: string): string;
    found: Found;
    sheets: Sheets | undefined;
    why: Why;
    desk: Desk | undefined;
    /* patch.js */
    entriesOf(text: string): Map<string, Entry>;
    scalar(text: string): string;
    patched(text: string, changes: Written[]): { text: string; fault: string };
    /** the number of the piece that is chosen, or an empty text */
    pieceName(): string;
    /* calculations-data.js; of one calculation, with its formula, calculations/NAME.js */
    declared: Record<string, Declared>;
    lists: any[][];
    /** what else a person may write for a name, with a line between */
    called: Record<string, string>[];
    house: Record<string, any>;
    spans: Spans;
    families: Record<string, string[]>;
    /* reader.js */
    /** how a unit is printed, where that differs from how it is written */
    labels: Record<string, string>;
    menus: Record<string, string[]>;
    us: Record<string, string>;
    texts: string[][];
    none: string;
    edition: string;
    /* calculations.js */
    kernels: Record<string, (...values: any[]) => any>;
    numerals: {
      significant(number: number, digits: number): string;
      sided(number: number, digits: number, side: number): number;
      worked(number: number, digits: number): string;
      decades(number: number): number;
      round_step(span: number, most: number): number;
    };
    /** engine/reading.py: what was read by name, or "fault" and the words */
    reading: {
      value(text: string, unit: string, chosen: string): any[];
      span(text: string, unit: string, chosen: string): any[];
      reading(text: string, unit: string, chosen: string): any[];
      number_apart(text: string, unit: string): any[];
      rows(text: string, wanted: number): any[];
      cells(text: string): string[][];
      rescaled(number: number, unit: string, declared: string): number;
    };
    /** engine/spread.py */
    spread: {
      sampled(value: number, low: number, high: number, share: number, difference: boolean): number;
      share_of(number: number): number;
      generator(place: number): number;
      quantile(ordered: number[], share: number): number;
      interval_texts(value: number, low: number, high: number, digits: number, side: number): [string, string, string];
      whole_texts(value: number, low: number, high: number): [string, string, string];
      safe_edge(edge: number, value: number, above: boolean): string;
      counted(number: number): string;
      trials(): number;
    };
    steps: number[] | null;
    /* colours.js: before a page is drawn */
    colours?(asked?: HTMLInputElement): void;
    /* handbook.js */
    store: Store;
    prefersUS(): boolean;
    /** all texts of a part in US units, once us.js is here; it turns the whole page when it comes */
    textsInUS(root: Node): void;
    /* us.js */
    /** unit in print -> the reader's, factor, offset */
    twins: Record<string, [string, number, number]>;
    wordsInUS(text: string, difference?: boolean): string;
    /** the tables and texts of the page in US units, or back */
    pageIn?(us: boolean): void;
    /** tells before the working what was given in other units than the formula has, and behind its figures the reader's */
    workingInUS(bench: HTMLElement, declared: Pick<Declared, "inputs">, values: Values): void;
    listingInUS(
      result: Result,
      rows: any[][],
      intervals: Record<string, Interval>,
    ): [Result, any[][], Record<string, Interval>];
    rowsInUS(text: string): string;
    faultInUS(text: string): string;
    /** a cell of rows as it stands in the reader's unit, and as it is kept */
    cellInUS(column: Input, text: string): string;
    cellFromUS(column: Input, text: string): string;
    headsInUS?(input: Input, heads: HTMLElement[], beside: HTMLElement[]): void;
    /* handbook.js */
    typedName(box: HTMLElement): string;
    /* store.js */
    openStore(host: StoreHost, house: string): Store;
    /* read.js */
    asGiven(number: number): string;
    label(unit: string): string;
    show(number: number, unit: string, digits: number, side?: number): string;
    convert(number: number, from: string, to: string): number;
    readable(number: number): string;
    complaint(input: Input, value: any): string;
    shownValue(input: Input, value: any): string;
    named(input: Input, text: string): string;
    parts(input: Input, text: string): {number: string; unit: string} | null;
    read(input: Input, text: string, unit: string | undefined): any;
    readKnown(input: Input, text: string, unit: string | undefined): {value: any; ends?: [number, number]};
    wordsFault(input: Input, pattern: string | undefined, text: string): string;
    addLists(from: { lists: any[][]; called: Record<string, string>[] }, inputs: Input[]): void;
    cells(text: string): string[][];
    readRows(input: Input, cells: string[][]): {values: any[][]; faults: CellFault[]; message: string};
    rowsText(input: Input, cells: string[][]): string;
    underUnits(input: Input, cells: string[][]): string[][];
    /* answer.js */
    guarded(name: string, values: any[]): any;
    run(name: string, byName: Values): Values;
    trial(name: string, values: Values, over: string, x: number, result: string): number | null;
    sentence(result: Result, value: any, given: Record<string, Told>, unitFor?: (unit: string) => string): string;
    sentences(
      result: Result,
      value: any,
      given: Record<string, Told>,
      unitFor?: (unit: string) => string,
    ): string[];
    runUnchecked(name: string, byName: Values): Values;
    /** `seen` holds the intervals of a listing's cells, by `cellName` */
    shownResult(
      result: Result,
      value: any,
      given?: Record<string, Told>,
      interval?: Interval,
      seen?: Record<string, Interval>,
    ): string;
    given(name: string, byName: Values, results: Values, intervals?: Record<string, Interval>): Record<string, Told>;
    /* plan-data.js, plan.js, planning.js */
    planSteps: Step[];
    materials: Record<string, string>;
    planCannot: string;
    planValues: Values;
    planSpans: PlanSpan[];
    planCoats: Record<string, PlanSpan[]>;
    /* own-data.js, facts.js */
    own: Own;
    readPiece(text: string): {
      facts: Map<string, OwnValue>;
      faults: { line: number; key: string; told: string }[];
      number: string;
    };
    factFor(
      input: Input,
      key: string,
      facts: Map<string, OwnValue>,
    ): { value: any; ends?: [number, number] };
    ownRun(program: Program, facts: Map<string, OwnValue>): OwnAnswer;
    ownWhy?(asked: string): Pick<WhyFigure, "inputs" | "notes" | "refused"> | null;
    /** a fact of the chosen piece as text */
    ownText?(key: string): string | undefined;
    handyUnit(number: number, unit: string): string;
    answerFor(facts: Map<string, OwnValue>, number: string): void;
    openPanel(opener: HTMLElement): void;
    /* piece.js */
    pieces(): Map<string, string>;
    keepPieces(pieces: Map<string, string>): boolean;
    choosePiece(number: string): void;
    /** loads all calculations and what works them */
    withWhole(): Promise<void>;
    withAnswers(): Promise<void>;
    withPlan(): Promise<void>;
    planInputs(facts: Map<string, OwnValue>): { values: Values; spans: PlanSpan[] };
    plan: {
      steps: Record<string, (v: Values, done: Record<string, StepResult>) => StepResult>;
      points: number;
      schedule: (segments: any[][][], dayStart: number, hours: number) => [number, number][];
      hands_begin: (t: number, hands: number, dayStart: number, hours: number) => number;
      hands_end: (begin: number, hands: number, hours: number) => number;
      share_at: (point: number) => number;
      stride: (place: number) => number;
    };
    planRun: (v: Values) => Record<string, StepResult>;
    planOf: (v: Values, spans: PlanSpan[]) => Plan;
    /* piece.js, own.js, facts.js */
    hasLog(number: string): boolean;
    fileName(number: string): string;
    saveFile(name: string, text: string, type: string): void;
    answerText(found: OwnAnswer): string;
    answered(name: string, values: Values): LogAnswer;
    /* log-data.js, log.js */
    logColumns: Record<string, string>;
    logKinds: LogKind[];
    logAsks: { name: string; title: string; lacks: Record<string, string> }[];
    logFindings: Record<string, string>;
    logValues: Values;
    log: {
      asks: Record<string, (entries: LogEntry[], v: Values, now: number) => [code: any, inputs: Values]>;
      cells_of(text: string): { fault: [number, string] | null; lines: number[]; rows: string[][] };
      read_log(lines: number[], rows: string[][]): { faults: LogFault[]; entries: LogEntry[] };
      standing(entries: LogEntry[]): LogEntry[];
      impossible(entries: LogEntry[]): [row: number, text: string, allowed: string][];
      row_text(...cells: string[]): string;
      heading_line(): string;
      next_row(entries: LogEntry[]): number;
      hours_of(text: string): [word: string, hours: any];
      findings(entries: LogEntry[], wrong: any[][], v: Values, now: number): any[][];
      marks(entries: LogEntry[], ids: string[]): (number | null)[][];
      states(
        planned: (number | null)[][],
        marked: (number | null)[][],
        ends: (number | null)[],
        now: number,
      ): [word: string, begin: number, end: number, due: number][];
    };
    /* logged.js, log-chart.js */
    readLog(text: string): Log;
    keptLog(number: string): string;
    keepLog(number: string, text: string): boolean;
    onLog(number: string, listener: () => void): () => void;
    /** the log with pasted rows behind it; unchanged, with every fault, where one of them is at fault */
    withRows(text: string, pasted: string, edition: string): { text: string; faults: LogFault[]; added: number };
    addedRow(
      text: string,
      cells: Record<string, string>,
    ): { text: string; faults: LogFault[]; added: number; row: number };
    /** which rows of a kept log an opened one lacks, or has otherwise */
    lostRows(text: string, opened: LogEntry[]): number[];
    logNow(): number;
    logTime(hours: number): string;
    logFinds(log: Log, facts: Map<string, OwnValue>, now: number): string[];
    logSays(log: Log, facts: Map<string, OwnValue>, now: number): Said[];
    loggedInputs(log: Log, facts: Map<string, OwnValue>, now: number, name: string): Values;
    loggedSource(input: Input, value: any, unit: string): Source;
    continuedPlan(
      plan: Plan,
      log: Log,
      says: Said[],
      start: string | null,
      now: number,
    ): Plan & { start: string | null; states: Record<string, StepState> };
    logCharts(log: Log, says: Said[], facts: Map<string, OwnValue>): HTMLElement[];
    /* interval.js */
    propagate(name: string, values: Values, spans: Spans, middle: Values): Spread;
    propagation(
      name: string,
      values: Values,
      spans: Spans,
      middle: Values,
    ): Generator<undefined, Spread>;
    showInterval(value: number, low: number, high: number, unit: string, digits: number, side?: number): string;
    shownIn(unit: string, result: Result, value: number, interval?: Interval): string;
    seenIntervals(name: string, results: Values, spread: Spread | null): Record<string, Interval>;
    notes(result: Result, value: any, intervals: Record<string, Interval>, spread: Spread | null): string[];
    /** under which name a number of a listing stands among intervals */
    cellName(listing: string, row: number, column: number): string;
    refusedShare(spread: Spread | null): string;
    /* dom.js */
    all(selector: string, within?: ParentNode): any[];
    one(selector: string, within: any): any;
    make<K extends keyof HTMLElementTagNameMap>(
      tag: K, attributes?: Record<string, string>, inside?: string | (Node | string)[]): HTMLElementTagNameMap[K];
    button(text: string, action: () => void, name?: string): HTMLButtonElement;
    copy(text: string): boolean;
    /** the address of what the site holds, by its way from the site's root */
    inSite(path: string): string;
    /** runs a script of the site, once however often it is asked for */
    load(path: string, isHere?: () => any): Promise<void>;
    /** the same of several, which run in their order */
    loadAll(paths: string[]): Promise<void>;
    /* rows.js, working.js, curve.js */
    grid(holder: HTMLElement, input: Input): Grid;
    working(bench: HTMLElement, declared: Declared, values: Values, steps: number[]): void;
    noWorking(bench: HTMLElement): void;
    curve(
      name: string, values: Values, over: string, spans: Spans | null, limit: string | null): SVGElement | null;
    /* field.js */
    readersUnit(unit: string): string;
    resultsUnit(result: Result): string;
    allowedIn(input: Input, unit: string): string;
    field(bench: HTMLElement, input: Input): Field;
    knownOf(field: Pick<Field, "input" | "source">): {value: any; ends?: [number, number]};
    sameSource(a: Source, b: Source): boolean;
    isTyped(field: Field): boolean;
    showField(field: Field, unit: string): void;
    stateOf(field: Field): string;
    markField(field: Field): void;
    ofHouse(input: Input, value: any, unit: string, ends?: [number, number]): Source;
    written(field: Pick<Field, "input" | "source">): string;
    sourceOf(field: Field, written: string): Source;
    /* form.js */
    READINGS: string[];
    calculator(box: HTMLDetailsElement): Calculator;
    typedSources(calculator: Calculator): Record<string, Source>;
    fillWith(calculator: Calculator, sourceFor: (field: Field) => Source | undefined): void;
    safely<T>(calculator: Calculator, work: () => T): T | null;
    inReadersUnits(calculator: Calculator): void;
    compute(calculator: Calculator): {values: Values; results: Values} | null;
    /* share.js */
    asText(calculator: Calculator): string;
    /** puts what is given into the line that is printed of a calculator; only where calculators are */
    inPrint?(box: HTMLDetailsElement): void;
    isStarted(box: HTMLDetailsElement): boolean;
    address(calculator: Calculator): string;
    /* phone.js */
    measureTables(): void;
    /* menu-data.js, loaded when a section of the menu is first opened */
    menu?: MenuItem[];
    /* begin.js */
    /** loads what a calculator of the page is worked by, and makes it */
    withCalculator(box: HTMLDetailsElement): Promise<Calculator>;
    /* start.js; both are there once a calculator was wanted */
    fromAddress(hash: string): {filled: boolean; texts: Map<string, string>};
    calculatorOf(box: HTMLDetailsElement): Calculator;
    openAt(calculator: Calculator, hash: string): void;
    /* desk.js */
    changeValue(key: string): void;
  }
}

declare namespace HB {
  /** a page has an address, a section items, and an index where it has a page of its own */
  interface MenuItem {
    title: string;
    url?: string;
    index?: MenuItem;
    items?: MenuItem[];
  }
}

declare var HB: HB.Namespace;

interface Window {
  HB: HB.Namespace;
}
