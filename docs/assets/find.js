/* Which pages answer what a reader asks for. Knows no page of the browser, and runs in V8 too.

   A word of the question is looked for in titles, in what readers call the page (`called`), in headings and in
   the text: as it stands, by its stem, as the beginning of a longer word, by what the handbook says instead,
   and only where none of these is anywhere, spelt nearly so, or as two words written in one. No word is
   required: a page with more of them, in more telling places, comes first. */

(function (HB) {
  "use strict";

  const EMPTY = new Set(
    (
      "a an and are as at be by can do does for from get how i if in is it its me my need of on or our should " +
      "that the them there these this to up use was we what when where which while why will with you your"
    ).split(" "),
  );
  const TITLE = 7,
    CALLED = 9,
    HEADING = 5,
    TEXT = 1;
  const STEM = 0.9,
    INSTEAD = 0.95,
    BEGINNING = 0.55,
    NEARLY = 0.5;
  const FAINT = 0.05; // of the first page's score: less is no answer

  /** Text as it is compared: no accents, no case, letters and digits only; "P 400" and "P400" are one word.
   * @param {string} text */
  function folded(text) {
    return text
      .normalize("NFKD")
      .replace(/[\u0300-\u036f]/g, "")
      .toLowerCase()
      .replace(/([0-9]),(?=[0-9]{3})/g, "$1")
      .replace(/[^a-z0-9.]+|\.(?![0-9])/g, " ")
      .replace(/\b([pg]) (?=[0-9]+\b)/g, "$1")
      .trim();
  }

  /** @param {string} text */
  function words(text) {
    const all = folded(text);
    return all ? all.split(" ") : [];
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
    const short = word.replace(/(?:ies|ied)$/, "y").replace(/(?:ing|edly|ed|es|s|ly|er|ers|e)$/, "");
    return short.length >= 4 ? short.replace(/([bdgmnprt])\1$/, "$1") : word;
  }

  /** @param {string[]} phrase */
  const stemmed = (phrase) => phrase.map(stem).join(" ");

  /** Whether one slip of the finger, or two in a long word, leads from one word to the other.
   * @param {string} one @param {string} other */
  function near(one, other) {
    const most = one.length >= 8 ? 2 : 1;
    if (Math.abs(one.length - other.length) > most || one.length < 4) return false;
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
      if (least > most) return false;
      before = row;
      row = next;
    }
    return row[other.length] <= most;
  }

  /** Make ready to be asked: an index of every word, from the pages' texts.
   * @param {HB.Found} found */
  HB.finder = function (found) {
    /** @type {{page: number, anchor: string, heading: string, text: string}[]} */
    const sections = [];
    /** word to the sections that hold it, with the weight of the best place @type {Map<string, Map<number, number>>} */
    const places = new Map();
    /** @type {Map<string, Set<string>>} */
    const stems = new Map();

    /** @param {string} word @param {number} section @param {number} weight */
    function put(word, section, weight) {
      let at = places.get(word);
      if (!at) {
        places.set(word, (at = new Map()));
        const root = stem(word);
        const kin = stems.get(root) || new Set();
        stems.set(root, kin.add(word));
      }
      // A word said again counts a little more, and never as much as in a heading.
      const old = at.get(section) || 0;
      at.set(section, weight > TEXT ? Math.max(weight, old) : Math.max(old, Math.min(old + 0.25, 2), TEXT));
    }

    found.pages.forEach((page, number) => {
      for (const [anchor, heading, text] of page.sections) {
        const section = sections.push({ page: number, anchor, heading, text }) - 1;
        for (const word of words(text)) put(word, section, TEXT);
        for (const word of words(heading)) put(word, section, HEADING);
        if (!anchor) for (const word of words(page.title)) put(word, section, TITLE);
      }
    });
    /** what is typed to what is said instead: as it stands, and by its stems @type {Map<string, string[]>} */
    const instead = new Map();
    /** @type {Map<string, string[]>} */
    const insteadByStem = new Map();
    /** @param {Map<string, string[]>} list @param {string} typed @param {string} said */
    const enter = (list, typed, said) => list.set(typed, (list.get(typed) || []).concat(said));
    for (const [typed, said] of found.instead) {
      enter(instead, folded(typed), said);
      enter(insteadByStem, stemmed(words(typed)), said);
    }
    const called = found.pages.map((page) => page.called.map(words));
    for (const names of called)
      for (const name of names)
        for (const word of name) {
          if (!places.has(word)) places.set(word, new Map());
          const root = stem(word);
          stems.set(root, (stems.get(root) || new Set()).add(word));
        }
    const vocabulary = [...places.keys()].sort();

    /** How telling a word is: the fewer sections hold it, the more. @param {Map<number, number>} at */
    const telling = (at) => Math.log(1 + sections.length / (1 + at.size));

    /** What to look for instead of the words of a question: pairs of the words replaced and the words put.
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
      asked.forEach((word, place) => {
        const known = places.has(word) || stems.has(stem(word)) || unfinishedIn(word);
        if (known || made.some((swap) => swap.from <= place && place < swap.to)) return;
        for (const [typed, said] of instead)
          if (near(word, typed))
            for (const other of said) made.push({ from: place, to: place + 1, put: words(other) });
      });
      return made;
    }

    /** Where words that begin so stand in the vocabulary, or would stand. @param {string} word */
    function placeOf(word) {
      let low = 0,
        high = vocabulary.length;
      while (low < high) {
        const middle = (low + high) >> 1;
        if (vocabulary[middle] < word) low = middle + 1;
        else high = middle;
      }
      return low;
    }

    /** @param {string} word */
    const unfinishedIn = (word) => (vocabulary[placeOf(word)] || "").startsWith(word);

    /** The two known words that are written in one, such as bandsaw. @param {string} word @returns {string[]} */
    function parted(word) {
      for (let at = word.length - 3; at >= 3; at--) {
        const kin = [word.slice(0, at), word.slice(at)].map((part) => stems.get(stem(part)));
        if (kin[0] && kin[1]) return [...kin[0], ...kin[1]];
      }
      return [];
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
      if (!sure.size) for (const other of vocabulary) if (near(word, other)) add(other, NEARLY);
      if (!sure.size) for (const other of parted(word)) add(other, NEARLY);
      return sure;
    }

    /** @param {string} question @returns {HB.Hit[]} the pages, the likeliest first */
    function ask(question) {
      const all = words(question);
      const meant = all.filter((word) => !EMPTY.has(word));
      const asked = meant.length ? meant : all;
      if (!asked.length) return [];
      const swaps = insteadOf(asked);
      // Several words of ours for one of the reader's: each counts for its share of it.
      const wanted = asked.map((word, place) => {
        const sure = variants(word, place === asked.length - 1 && /\S$/.test(question));
        const swap = swaps.filter((one) => one.from <= place && place < one.to);
        return { sure, swaps: swap.map((one) => one.put) };
      });
      const worth = wanted.map(({ sure, swaps: put }) => {
        const best = [...sure].filter(([, share]) => share > BEGINNING).map(([other]) => other);
        const known = best.concat(...put).filter((other) => places.has(other));
        const values = known.map((other) => telling(/** @type {any} */ (places.get(other))));
        return values.length ? Math.max(...values) : Math.log(1 + sections.length / 20);
      });

      /** section to what each asked word is worth there @type {Map<number, number[]>} */
      const scores = new Map();
      wanted.forEach(({ sure, swaps: put }, place) => {
        /** @param {string} other @param {number} share */
        const count = (other, share) => {
          for (const [section, weight] of places.get(other) || []) {
            const row = scores.get(section) || new Array(asked.length).fill(0);
            scores.set(section, row);
            row[place] = Math.max(row[place], weight * share);
          }
        };
        for (const [other, share] of sure) count(other, share);
        for (const group of put) {
          const both = group.filter((other) => places.has(other));
          for (const other of both) count(other, INSTEAD / Math.sqrt(both.length));
        }
      });

      const total = worth.reduce((sum, one) => sum + one, 0);
      /** @param {number[]} row */
      const value = (row) => row.reduce((sum, weight, place) => sum + weight * worth[place], 0);
      /** @param {number[]} row */
      const share = (row) =>
        row.reduce((sum, weight, place) => sum + (weight > 0 ? worth[place] : 0), 0) / total;

      const phrase = ` ${asked.join(" ")} `;
      /** @type {Map<number, {row: number[], best: number, called: number, hits: {section: number, score: number}[]}>} */
      const pages = new Map();
      const nothing = () => ({
        row: new Array(asked.length).fill(0),
        best: 0,
        called: 0,
        hits: /** @type {any[]} */ ([]),
      });
      for (const [section, row] of scores) {
        const { page, heading, text } = sections[section];
        let score = value(row) * share(row) ** 2;
        if (asked.length > 1) {
          if (` ${folded(heading)} `.includes(phrase)) score += 6 * total;
          else if (` ${folded(text)} `.includes(phrase)) score += 1.5 * total;
        }
        const kept = pages.get(page) || nothing();
        pages.set(page, kept);
        row.forEach((weight, place) => {
          kept.row[place] = Math.max(kept.row[place], weight);
        });
        kept.best = Math.max(kept.best, score);
        kept.hits.push({ section, score });
      }
      called.forEach((names, page) => {
        const score = Math.max(0, ...names.map((name) => byName(name, wanted, worth, total)));
        if (!score) return;
        const kept = pages.get(page) || nothing();
        pages.set(page, kept);
        kept.called = CALLED * score;
      });
      const hits = [...pages].map(([page, kept]) => {
        const said = found.pages[page];
        const score = kept.called + said.weight * (kept.best + 0.7 * value(kept.row) * share(kept.row) ** 2);
        const inside = kept.hits
          .sort((a, b) => b.score - a.score)
          .slice(0, 3)
          .map(({ section }) => sections[section]);
        return { url: said.url, title: said.title, kind: said.kind, score, sections: inside };
      });
      hits.sort((a, b) => b.score - a.score);
      return hits.filter((hit) => hit.score > 0 && hit.score >= FAINT * hits[0].score);
    }

    /** The words of a question that are looked for, and those of the handbook that stand for them.
     * @param {string} question */
    function meant(question) {
      const all = words(question);
      const asked = all.filter((word) => !EMPTY.has(word));
      return asked.concat(...insteadOf(asked).map((swap) => swap.put));
    }

    /** How well a name that readers have for a page agrees with the question: 0 where they share too little.
     * @param {string[]} name @param {{sure: Map<string, number>, swaps: string[][]}[]} wanted
     * @param {number[]} worth @param {number} total */
    function byName(name, wanted, worth, total) {
      const told = name.filter((word) => !EMPTY.has(word));
      let shared = 0;
      const used = new Set();
      wanted.forEach(({ sure, swaps: put }, place) => {
        let best = 0;
        for (const word of told) {
          const sureness = Math.max(
            sure.get(word) || 0,
            put.some((group) => group.includes(word)) ? INSTEAD : 0,
          );
          if (sureness > 0) used.add(word);
          best = Math.max(best, sureness);
        }
        shared += best * worth[place];
      });
      const asked = shared / total,
        named = used.size / (told.length || 1);
      return asked * named < 0.3 ? 0 : asked ** 2 * named * total;
    }

    return { ask, meant };
  };

  HB.folded = folded;
})((window.HB = window.HB || /** @type {any} */ ({})));
