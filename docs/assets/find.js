/* Which pages answer what a reader asks for. Knows no page of the browser, and runs in V8 too.

   A word of the question is looked for in titles, in what readers call the page (`called`), in headings and in
   the text: as it stands, by its stem, as the beginning of a longer word, by what the handbook says instead;
   what is nowhere is read as the word that is spelt nearly so, or as two words written in one. No word is
   required: a page with more of them, in more telling places, closer together, comes first. */

(function (HB) {
  "use strict";

  // Words that say nothing of what is asked for. Signs of elision are gone before these are compared.
  const EMPTY = new Set(
    (
      "a about all already also always am an and any anybody anyone anything are arent as at be because been being but " +
      "by can cannot cant could did didnt do does doesnt doing done dont each either else even ever every everybody " +
      "everything few for from get gets getting give go goes going gone gonna got had has have havent having he hello help " +
      "her here hers hi him his how i id if ill im in into is isnt it its ive just keep keeps kind know let like long look " +
      "lot lots made make makes many may maybe me might mine much must my myself need needed needs next no not now of off " +
      "often ok okay on once one only onto or other ought our over per please put puts quite rather really say says see " +
      "seem seems shall she should shouldnt so some somebody someone something soon still stuff such sure take tell than " +
      "thanks that thats the their them then there these they thing things this those though tho thru till to too try " +
      "trying up upon us use used using very want wants was we well went were what whats when where whether which while " +
      "who whose why will wish with without wont would x yes yet you your"
    ).split(" "),
  );
  // Words that go with any question: they decide only between pages that the others leave equal.
  const SOFT = new Set(
    (
      "after again ago almost along another anymore around away back bad before behind below best better between big both " +
      "bought buying certain come comes correct day days different difference down during enough ever exactly fine first " +
      "found good great half happen happened happens hour hours idea instead iron item later left less little looks mean " +
      "means meant meteorite meteorites minute minutes month months more most near nearly never new nice normal object off " +
      "old others out outside own people person piece pieces place possible problem question recommend recommended right " +
      "same second see seen several since slice slices small someday sort specimen specimens start started stay stop " +
      "strange supposed thing think time times today together turned two three type usual usually way week weeks whole " +
      "within work working works worse worth year years yesterday " +
      "cup cups cm feet foot gallon gallons gram grams inch inches kg kilo lb lbs liter liters litre litres mil ml mm " +
      "ounce ounces oz percent pint pound pounds quart tablespoon tablespoons teaspoon"
    ).split(" "),
  );
  // What a word is worth by where it stands: in a title, a name that readers have, a heading, a text; all the
  // words of the question in one passage; and how much of a page's worth is that of the page as a whole.
  const TITLE = 7,
    CALLED = 9,
    NAMED = 4,
    HEADING = 5,
    TEXT = 1,
    TOGETHER = 4,
    WHOLE = 0.5;
  // How sure it is that another word stands for the one that was typed.
  const STEM = 0.9,
    INSTEAD = 0.95,
    BEGINNING = 0.4,
    NEARLY = 0.85,
    PART = 0.6;
  const BESIDE = 0.6; // what a word is worth that no title, heading or name has: seldom what is asked for
  const SOFTLY = 0.35; // what a word is worth that goes with any question
  const SET_IN = /^(?:calc|table)-/,
    ASIDE = 0.5;
  const FIGURE = 0.4; // and a bare number: its unit and its thing tell more
  const USUAL = 6; // pages: a heading that more of them have tells nothing
  const PREFERRED = 1.4; // how much more a folder of pages counts where a word of the question is meant for it
  const READERS_OWN = { passages: [], headings: [], subject: true }; // of a word that the handbook has not
  const FAINT = 0.05; // of the first page's score: less is no answer

  const BEYOND = /[^ -&(-~]/; // letters with accents, Greek ones, signs of elision
  const SCALE = /\b[pg] [0-9]/;

  /** Text as it is compared: no accents, no case, letters and digits only; "P 400" and "P400" are one word.
   * @param {string} text */
  function folded(text) {
    let plain = text.normalize("NFKD").toLowerCase();
    if (BEYOND.test(plain)) plain = plain.replace(/[\u0300-\u036f'\u2019\u00ad]/g, "").replace(/\u03bc/g, "u");
    if (plain.includes(",")) plain = plain.replace(/([0-9]),(?=[0-9]{3})/g, "$1");
    plain = plain.replace(/[^a-z0-9.]+|\.(?![0-9])/g, " ");
    return (SCALE.test(plain) ? plain.replace(/\b([pg]) (?=[0-9]+\b)/g, "$1") : plain).trim();
  }

  /** @param {string} text */
  function words(text) {
    const all = folded(text);
    return all ? all.split(" ") : [];
  }

  /** The words that say something of what is asked for; all of them where none does. @param {string[]} all */
  function telltale(all) {
    const some = all.filter((word) => !EMPTY.has(word));
    return some.length ? some : all;
  }

  /** A word without the endings that say how often or when, never shorter than four letters, and in one
   * spelling on both sides of the ocean.
   * @param {string} word */
  function stem(word) {
    return ending(word)
      .replace(/sulf/, "sulph")
      .replace(/aluminium/, "aluminum")
      .replace(/([a-z]{3})i[sz](?=$|a)/, "$1is")
      .replace(/([a-z]{2})our/, "$1or")
      .replace(/^grey/, "gray")
      .replace(/([lt])re$/, "$1er");
  }

  /** @param {string} word */
  function ending(word) {
    const short = word
      .replace(/(?:ies|ied)$/, "y")
      .replace(/([a-z]{5})(?:ions?|ments?|ness|ity)$/, "$1")
      .replace(/(?:ing|edly|ed|es|s|ly|er|ers|e)$/, "");
    return short.length >= 4 ? short.replace(/([bdgmnprt])\1$/, "$1") : word;
  }

  /** @param {string[]} phrase */
  const stemmed = (phrase) => phrase.map(stem).join(" ");

  /** How many slips of the finger lead from one word to the other: one, or two in a long word; 0 for more.
   * @param {string} one @param {string} other */
  function slips(one, other) {
    const most = one.length >= 8 ? 2 : 1;
    if (Math.abs(one.length - other.length) > most || Math.max(one.length, other.length) < 4) return 0;
    let before = /** @type {number[]} */ ([]);
    let row = Array.from({ length: other.length + 1 }, (_, at) => at);
    for (let i = 1; i <= one.length; i++) {
      const next = [i];
      let least = i;
      for (let j = 1; j <= other.length; j++) {
        let cost = Math.min(next[j - 1] + 1, row[j] + 1, row[j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
        if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1])
          cost = Math.min(cost, before[j - 2] + 1); // two letters in each other's place
        next[j] = cost;
        if (cost < least) least = cost;
      }
      if (least > most) return 0;
      before = row;
      row = next;
    }
    return row[other.length] <= most ? row[other.length] : 0;
  }

  /** Make ready to be asked: an index of every word, from the pages' texts.
   * @param {HB.Found} found */
  HB.finder = function (found) {
    const passages = found.texts;
    /** @type {{page: number, anchor: string, heading: string, passages: number[]}[]} */
    const sections = [];
    /** in how many sections each passage stands */
    const held = new Uint16Array(passages.length);
    /** A word and where it stands: passages, sections whose heading has it, pages whose title has it.
     * @typedef {{passages: number[], headings: number[], titles: number[], subject: boolean}} Places */
    /** @type {Map<string, Places>} */
    const places = new Map();

    /** @param {string} word */
    function known(word) {
      let at = places.get(word);
      if (!at) places.set(word, (at = { passages: [], headings: [], titles: [], subject: false }));
      return at;
    }

    /** @param {number[]} list @param {number} place */
    const note = (list, place) => list[list.length - 1] === place || list.push(place);

    passages.forEach((text, place) => {
      for (const word of words(text)) note(known(word).passages, place);
    });
    found.pages.forEach((page, number) => {
      for (const word of words(page.title)) note(known(word).titles, number);
      for (const [anchor, heading, ...its] of page.sections) {
        const section = sections.push({ page: number, anchor, heading, passages: its }) - 1;
        for (const word of words(heading)) note(known(word).headings, section);
        for (const passage of its) held[passage]++;
      }
      for (const name of page.called) for (const word of words(name)) known(word).subject = true;
    });
    const all = held.reduce((sum, one) => sum + one, 0);
    /** what readers call a page @type {{page: number, words: string[]}[]} */
    const names = [];
    /** a word and the names that have it @type {Map<string, number[]>} */
    const inNames = new Map();
    found.pages.forEach((page, number) => {
      for (const name of page.called) {
        const its = telltale(words(name));
        const place = names.push({ page: number, words: its }) - 1;
        for (const word of new Set(its)) {
          const list = inNames.get(word);
          if (list) list.push(place);
          else inNames.set(word, [place]);
        }
      }
    });
    const vocabulary = [...places.keys()].sort();
    /** @type {Map<string, string[]>} */
    const stems = new Map();
    for (const word of vocabulary) {
      const root = stem(word);
      const kin = stems.get(root);
      if (kin) kin.push(word);
      else stems.set(root, [word]);
    }

    /** what is typed to what is said instead: as it stands, and by its stems @type {Map<string, string[]>} */
    const instead = new Map();
    /** @type {Map<string, string[]>} */
    const insteadByStem = new Map();
    /** the words that only readers have @type {Set<string>} */
    const readers = new Set();
    /** @param {Map<string, string[]>} list @param {string} typed @param {string} said */
    const enter = (list, typed, said) => list.set(typed, (list.get(typed) || []).concat(said));
    for (const [typed, said] of found.instead) {
      const phrase = telltale(words(typed));
      enter(instead, phrase.join(" "), said);
      enter(insteadByStem, stemmed(phrase), said);
      for (const word of phrase) if (!places.has(word)) readers.add(word);
    }

    /** words by which a folder of pages is meant, such as an accident @type {string[][]} */
    const preferred = found.prefer.map(([typed, folder]) => [folded(typed), folder]);

    /** every word that somebody has, to mend slips by; and what was mended already */
    const spelling = [...vocabulary, ...readers].sort();
    /** @type {Map<string, string[]>} */
    const spellings = new Map();

    /** How telling a word is: the fewer sections hold it, the more. @param {string} word */
    function telling(word) {
      const at = /** @type {Places} */ (places.get(word));
      let count = at.headings.length;
      for (const passage of at.passages) count += held[passage];
      const subject = at.subject || at.titles.length || at.headings.length || insteadByStem.has(stem(word));
      const share = /^[0-9.]+$/.test(word) ? FIGURE : subject ? 1 : BESIDE;
      return Math.log(1 + all / (1 + count)) * share;
    }

    /** What to look for instead of the words of a question: the words replaced, and the words put.
     * @param {string[]} asked @returns {{from: number, to: number, put: string[]}[]} */
    function insteadOf(asked) {
      /** @type {{from: number, to: number, put: string[]}[]} */
      const made = [];
      for (let from = 0; from < asked.length; from++)
        for (let to = Math.min(asked.length, from + 4); to > from; to--) {
          const phrase = asked.slice(from, to);
          const own = phrase.length === 1 && places.has(phrase[0]); // the handbook has the word itself
          const said = instead.get(phrase.join(" ")) || (!own && insteadByStem.get(stemmed(phrase))) || [];
          const within = made.some(
            (swap) => swap.from <= from && to <= swap.to && swap.to - swap.from > to - from,
          );
          if (!within) for (const other of said) made.push({ from, to, put: words(other) });
        }
      return made;
    }

    /** Where words that begin so stand in a list of words, or would stand.
     * @param {string} word @param {string[]} list */
    function placeOf(word, list = vocabulary) {
      let low = 0,
        high = list.length;
      while (low < high) {
        const middle = (low + high) >> 1;
        if (list[middle] < word) low = middle + 1;
        else high = middle;
      }
      return low;
    }

    /** Headings that so many pages have say little of any of them. @type {Map<string, number>} */
    const pagesWith = new Map();
    for (const { heading } of sections) pagesWith.set(heading, (pagesWith.get(heading) || 0) + 1);
    const headingWorth = sections.map(({ heading }) =>
      /** @type {number} */ (pagesWith.get(heading)) > USUAL ? TEXT : HEADING,
    );

    /** Whether the handbook or a reader has the word, or some form of it.
     * @param {string} word */
    const isKnown = (word) =>
      places.has(word) ||
      readers.has(word) ||
      stems.has(stem(word)) ||
      insteadByStem.has(stem(word));

    /** @param {string} word */
    const unfinishedIn = (word) => word.length >= 3 && (vocabulary[placeOf(word)] || "").startsWith(word);

    /** The two known words that are written in one, such as bandsaw. @param {string} word @returns {string[]} */
    function parted(word) {
      for (let at = word.length - 3; at >= 3; at--) {
        const parts = [word.slice(0, at), word.slice(at)];
        if (parts.every((part) => places.has(part) || stems.has(stem(part)) || readers.has(part))) return parts;
      }
      return [];
    }

    /** The words of a question as they were meant: slips mended, two words in one parted, numbers taken off
     * their unit, and what says nothing left out. @param {string} question */
    function read(question) {
      /** @type {{word: string, share: number, also: string[], begun?: string}[]} */
      const asked = [];
      for (const word of telltale(words(question))) {
        if (isKnown(word)) {
          asked.push({ word, share: 1, also: [] });
          continue;
        }
        const near = spelt(word);
        if (EMPTY.has(near[0])) continue; // a slip in a word that says nothing
        const measured = /^([0-9.]+)([a-z]{1,4})$/.exec(word);
        const parts = measured ? [measured[1], measured[2]] : [];
        const [best, ...also] = measured ? [] : near;
        const begun = unfinishedIn(word) ? word : "";
        if (best) asked.push({ word: best, share: NEARLY, also, begun });
        else if (begun) asked.push({ word, share: 1, also: [] });
        else if (measured || parts.push(...parted(word)))
          for (const part of parts) asked.push({ word: part, share: NEARLY, also: [] });
        else asked.push({ word, share: 0, also: [] });
      }
      // Where the handbook has none of the words at all, what begins as they do is better than nothing.
      if (asked.every(({ share }) => !share))
        for (const one of asked) if (one.word.length >= 6) one.also = beginningAs(one.word);
      return asked;
    }

    /** The known words that share the most letters from the first, at least four. @param {string} word */
    function beginningAs(word) {
      for (let length = word.length - 1; length >= 4; length--) {
        const begin = word.slice(0, length);
        const from = placeOf(begin);
        let to = from;
        while (to < vocabulary.length && to < from + 5 && vocabulary[to].startsWith(begin)) to++;
        if (to > from) return vocabulary.slice(from, to);
      }
      return [];
    }

    /** The known words that are spelt nearly so, the likeliest first. @param {string} word */
    function spelt(word) {
      const before = spellings.get(word);
      if (before) return before;
      /** @type {{other: string, cost: number}[]} */
      const near = [];
      // The first letter is seldom the wrong one, unless it changed places with the second.
      for (const begin of [word[0], word.slice(0, 2).split("").reverse().join("")])
        for (let at = placeOf(begin, spelling); at < spelling.length && spelling[at].startsWith(begin); at++) {
          const other = spelling[at];
          const cost = Math.abs(other.length - word.length) < 3 ? slips(word, other) : 0;
          if (!cost) continue;
          const { passages: often, headings, subject } = places.get(other) || READERS_OWN;
          const usual = often.length + 20 * headings.length + (subject ? 20 : 0);
          near.push({ other, cost: cost - Math.min(0.4, usual / 100) });
        }
      near.sort((a, b) => a.cost - b.cost);
      const best = [...new Set(near.map(({ other }) => other))].slice(0, 3);
      spellings.set(word, best);
      return best;
    }

    /** Every word of the handbook that a word of the question may stand for, with how sure that is.
     * @param {string} word @param {boolean} unfinished it is still being typed
     * @returns {Map<string, number>} */
    function variants(word, unfinished) {
      const sure = new Map();
      /** @param {string} other @param {number} share */
      const add = (other, share) => sure.set(other, Math.max(share, sure.get(other) || 0));
      if (places.has(word)) add(word, 1);
      for (const kin of stems.get(stem(word)) || []) add(kin, STEM);
      if (word.length >= (unfinished ? 2 : 4)) {
        for (let at = placeOf(word); at < vocabulary.length && vocabulary[at].startsWith(word); at++)
          add(vocabulary[at], BEGINNING);
      }
      return sure;
    }

    /** @param {string} question @returns {HB.Hit[]} the pages, the likeliest first */
    function ask(question) {
      const meanings = read(question);
      const count = meanings.length;
      if (!count) return [];
      const asked = meanings.map(({ word }) => word);
      const swaps = insteadOf(asked);
      const everyWord = ` ${folded(question)} `;
      const folders = preferred.filter(([typed]) => everyWord.includes(` ${typed} `)).map(([, folder]) => folder);
      const unfinished = /\S$/.test(question);
      /** For each word of the question: the words that stand for it, and groups that do so together. */
      const wanted = meanings.map(({ word, share, also, begun }, place) => {
        const sure = variants(word, unfinished && place === count - 1);
        if (share && share < 1) for (const [other, one] of sure) sure.set(other, one * share);
        if (begun)
          for (const [other, one] of variants(begun, true)) sure.set(other, Math.max(sure.get(other) || 0, one));
        for (const other of also)
          for (const [kin, one] of variants(other, false))
            sure.set(kin, Math.max(sure.get(kin) || 0, one * PART));
        const next = place + 1 < count ? word + asked[place + 1] : "";
        const before = place ? asked[place - 1] + word : "";
        for (const joined of [next, before]) if (joined && places.has(joined)) sure.set(joined, STEM);
        const groups = swaps.filter((one) => one.from <= place && place < one.to).map((one) => one.put);
        return { sure, groups };
      });
      const worth = wanted.map(({ sure, groups }, place) => {
        const best = [...sure].filter(([, share]) => share >= PART).map(([other]) => other);
        const values = best.concat(...groups).filter((other) => places.has(other)).map(telling);
        const most = values.length ? Math.max(...values) : BESIDE * Math.log(1 + all / 20);
        return SOFT.has(asked[place]) ? Math.min(most, SOFTLY * Math.log(1 + all / 20)) : most;
      });
      const total = worth.reduce((sum, one) => sum + one, 0);

      // How sure each word is in each passage, heading and title: rows of as many as there are words.
      const inText = new Float32Array(passages.length * count);
      const inHeading = new Float32Array(sections.length * count);
      const inTitle = new Float32Array(found.pages.length * count);
      wanted.forEach(({ sure, groups }, place) => {
        /** @param {string} other @param {(row: Float32Array, at: number) => void} mark */
        const everywhere = (other, mark) => {
          const at = places.get(other);
          if (!at) return;
          for (const one of at.passages) mark(inText, one * count + place);
          for (const one of at.headings) mark(inHeading, one * count + place);
          for (const one of at.titles) mark(inTitle, one * count + place);
        };
        for (const [other, share] of sure)
          everywhere(other, (row, at) => {
            if (row[at] < share) row[at] = share;
          });
        for (const group of groups) {
          /** @type {Map<Float32Array, Map<number, number>>} */
          const sums = new Map([inText, inHeading, inTitle].map((row) => [row, new Map()]));
          for (const other of group) {
            const kin = places.has(other) ? [other] : stems.get(stem(other)) || [];
            for (const one of kin)
              everywhere(one, (row, at) => {
                const sum = /** @type {Map<number, number>} */ (sums.get(row));
                sum.set(at, (sum.get(at) || 0) + INSTEAD / group.length);
              });
          }
          for (const [row, sum] of sums)
            for (const [at, share] of sum) if (row[at] < share) row[at] = Math.min(share, INSTEAD);
        }
      });

      const { byNames, inName } = askNames(wanted, worth, total);

      /** @param {ArrayLike<number>} row */
      function value(row) {
        let sum = 0,
          held = 0;
        for (let place = 0; place < count; place++) {
          sum += row[place] * worth[place];
          if (row[place] > 0) held += Math.min(1, row[place] * 1.5) * worth[place];
        }
        return (sum * held * held) / (total * total);
      }

      const phrase = count > 1 ? ` ${asked.join(" ")} ` : "";
      /** @type {{page: number, score: number, hits: {section: number, passage: number, score: number}[]}[]} */
      const scored = [];
      let section = 0;
      const row = new Float32Array(count),
        close = new Float32Array(count),
        named = new Float32Array(count);
      found.pages.forEach((page, number) => {
        const title = inTitle.subarray(number * count, (number + 1) * count);
        const whole = new Float32Array(count);
        const hits = [];
        let best = 0;
        for (; section < sections.length && sections[section].page === number; section++) {
          const { anchor, heading, passages: its } = sections[section];
          const base = section * count;
          let any = false,
            passage = -1,
            together = 0;
          for (let place = 0; place < count; place++) {
            row[place] = headingWorth[section] * inHeading[base + place];
            if (!anchor) row[place] = Math.max(row[place], TITLE * title[place]);
            if (row[place]) any = true;
          }
          for (const one of its) {
            let some = false;
            for (let place = 0; place < count; place++) {
              const share = inText[one * count + place];
              close[place] = Math.max(share, inHeading[base + place], title[place]);
              if (!share) continue;
              some = true;
              row[place] = Math.max(row[place], TEXT * share);
            }
            if (!some) continue;
            any = true;
            let worthThere = value(close);
            if (phrase && worthThere > 0.4 * total && ` ${folded(passages[one])} `.includes(phrase)) worthThere *= 1.5;
            if (worthThere > together) {
              together = worthThere;
              passage = one;
            }
          }
          if (!any) continue;
          let score = value(row) + TOGETHER * together;
          // What is set into a page answers as a table or a calculator does, not as a page of that kind.
          if (SET_IN.test(anchor)) score *= Math.min(1, ASIDE / page.weight);
          if (phrase && ` ${folded(heading)} `.includes(phrase)) score += 6 * total;
          for (let place = 0; place < count; place++) whole[place] = Math.max(whole[place], row[place]);
          best = Math.max(best, score);
          hits.push({ section, passage, score });
        }
        for (let place = 0; place < count; place++) {
          named[place] = NAMED * inName[number * count + place];
          whole[place] = Math.max(whole[place], named[place]);
        }
        const meantFor = folders.some((folder) => page.url.startsWith(folder)) ? PREFERRED : 1;
        const byText = page.weight * (best + WHOLE * value(whole));
        const score = meantFor * (CALLED * byNames[number] + WHOLE * value(named) + byText);
        if (score > 0) scored.push({ page: number, score, hits });
      });
      scored.sort((a, b) => b.score - a.score);
      return scored
        .filter(({ score }) => score >= FAINT * scored[0].score)
        .map(({ page, score, hits }) => {
          const { url, title, kind } = found.pages[page];
          const inside = hits
            .sort((a, b) => b.score - a.score)
            .slice(0, 3)
            .map((hit) => {
              const { anchor, heading, passages: its } = sections[hit.section];
              return { anchor, heading, text: passages[hit.passage >= 0 ? hit.passage : its[0]] || "" };
            });
          return { url, title, kind, score, sections: inside };
        });
    }

    /** The words of a question that are looked for, and those of the handbook that stand for them.
     * @param {string} question */
    function meant(question) {
      const asked = read(question).flatMap(({ word, also }) => [word, ...also]);
      return asked.concat(...insteadOf(asked).map((swap) => swap.put));
    }

    /** How well the names that readers have for a page agree with the question: the best of them, 0 where it
     * shares too little; and how sure each word of the question is among all words of a page's names.
     * @param {{sure: Map<string, number>, groups: string[][]}[]} wanted
     * @param {number[]} worth @param {number} total */
    function askNames(wanted, worth, total) {
      const count = wanted.length;
      const inName = new Float32Array(found.pages.length * count);
      /** of each name: what it shares with each word of the question, and which of its words are used
       * @type {Map<number, {shares: Float32Array, used: Set<string>}>} */
      const agreeing = new Map();
      wanted.forEach(({ sure, groups }, place) => {
        /** @param {string} word @param {number} share */
        const agree = (word, share) => {
          for (const one of inNames.get(word) || []) {
            let kept = agreeing.get(one);
            if (!kept) agreeing.set(one, (kept = { shares: new Float32Array(count), used: new Set() }));
            kept.used.add(word);
            if (kept.shares[place] < share) kept.shares[place] = share;
          }
        };
        for (const [word, share] of sure) {
          agree(word, share);
          for (const one of inNames.get(word) || []) {
            const at = names[one].page * count + place;
            if (inName[at] < share) inName[at] = share;
          }
        }
        for (const group of groups) {
          /** @type {Map<number, Set<string>>} */
          const held = new Map();
          for (const word of group) {
            agree(word, INSTEAD);
            for (const one of inNames.get(word) || []) {
              const { page } = names[one];
              held.set(page, (held.get(page) || new Set()).add(word));
            }
          }
          for (const [page, its] of held) {
            const at = page * count + place;
            inName[at] = Math.max(inName[at], (INSTEAD * its.size) / group.length);
          }
        }
      });
      const byNames = new Float64Array(found.pages.length);
      for (const [one, { shares, used }] of agreeing) {
        const { page, words: its } = names[one];
        let shared = 0;
        for (let place = 0; place < count; place++) shared += shares[place] * worth[place];
        const asked = shared / total,
          said = used.size / new Set(its).size;
        if (asked * said >= 0.3) byNames[page] = Math.max(byNames[page], asked ** 2 * said * total);
      }
      return { byNames, inName };
    }

    /** The words of a question that were looked for, where a slip was mended in it; else nothing.
     * @param {string} question */
    function mended(question) {
      const meanings = read(question);
      return meanings.some(({ share, begun }) => share === NEARLY && !begun)
        ? meanings.map(({ word }) => word).join(" ")
        : "";
    }

    /** A page as a hit, with its first passage. @param {string} url @returns {HB.Hit | null} */
    function page(url) {
      const its = found.pages.find((one) => one.url === url);
      if (!its) return null;
      const [anchor, heading, first] = its.sections[0];
      const text = first === undefined ? "" : passages[first];
      return { url, title: its.title, kind: its.kind, score: 0, sections: [{ anchor, heading, text }] };
    }

    return { ask, meant, mended, page };
  };

  HB.folded = folded;
})((window.HB = window.HB || /** @type {any} */ ({})));
