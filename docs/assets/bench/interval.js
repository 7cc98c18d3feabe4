/* What a result may really be when inputs are spans: the twin of engine/interval.py, on the same points and
   with the same functions, so that the page and a table print the same digits. Knows no page. */

(function (HB) {
  "use strict";

  const ENDS = [0.05, 0.95];
  const BETWEEN = [0.25, 0.75];
  const BISECTIONS = 40;

  /** @param {HB.Input} input @param {number} value @param {[number, number]} ends @param {number} share */
  function at(input, value, [low, high], share) {
    const difference = /^(degC|degF|K)$|^delta_/.test(input.unit);
    return HB.spread.sampled(value, low, high, share, difference);
  }

  /* Runs trials: the results by name, or null where one has no answer; keeps the reason of the first of these. */
  /** @param {string} name @param {HB.Values} values @param {HB.Input[]} leaves */
  function asker(name, values, leaves) {
    const asked = {
      reason: "",
      /** @param {Record<string, number>} trial @returns {HB.Values | null} */
      run(trial) {
        const tried = { ...values };
        for (const { name: leaf, low, high } of leaves)
          tried[leaf] = Math.min(Math.max(trial[leaf], low), high);
        try {
          return withCells(HB.declared[name], HB.runUnchecked(name, tried));
        } catch (problem) {
          if (!problem.sentence && !problem.bad) throw problem;
          asked.reason = asked.reason || problem.sentence || problem.bad;
          return null;
        }
      },
    };
    return asked;
  }

  /* Results by name, with each number of a listing beside them under a name of its own. */
  /** @param {HB.Declared} declared @param {HB.Values} results */
  function withCells(declared, results) {
    const found = { ...results };
    for (const { name, kind } of declared.results) {
      if (kind !== "listing" || !results[name]) continue;
      results[name].forEach((/** @type {any[]} */ row, /** @type {number} */ i) => {
        row.forEach((cell, j) => {
          found[HB.cellName(name, i, j)] = cell;
        });
      });
    }
    return found;
  }

  /** @param {any} value */
  function number(value) {
    return typeof value === "number";
  }

  /** @param {number[]} values */
  function sorted(values) {
    return values.slice().sort((a, b) => a - b);
  }

  HB.propagate = function (name, values, spans, middle) {
    const work = HB.propagation(name, values, spans, middle);
    let step = work.next();
    while (!step.done) step = work.next();
    return step.value;
  };

  /* The same in steps of one trial, so that a page can stop in between and listen. */
  HB.propagation = function* (name, values, spans, middle) {
    const declared = HB.declared[name];
    const leaves = declared.inputs.filter((input) => spans[input.name]);
    const asked = asker(name, values, leaves);
    /** @type {Record<string, number>} */
    const best = {};
    for (const leaf of leaves) best[leaf.name] = values[leaf.name];
    middle = withCells(declared, middle);
    const numbers = Object.keys(middle).filter((result) => number(middle[result]));
    /** @param {HB.Input} leaf @param {number} share */
    const shareOf = (leaf, share) =>
      at(leaf, values[leaf.name], spans[leaf.name], share);
    /** @param {Record<string, number>} changed */
    const tryOf = (changed) => asked.run({ ...best, ...changed });
    const alone = new Map(
      leaves.map((leaf) => [leaf, ENDS.map((share) => tryOf({ [leaf.name]: shareOf(leaf, share) }))]),
    );
    const answered = !Array.from(alone.values()).some((tried) => tried.includes(null));
    const exact = answered ? oneDirection(leaves, middle, numbers, alone, tryOf, shareOf) : new Map();
    /** @type {HB.Values[]} */
    const rows = [];
    let refused = 0;
    if (exact.size !== numbers.length || !answered) {
      const trials = HB.spread.trials();
      for (const trial of allTrials(leaves, values, spans, trials)) {
        const found = asked.run(trial);
        if (found) rows.push(found);
        yield;
      }
      refused = 1 - rows.length / trials;
    }
    /** @type {HB.Spread} */
    const found = { intervals: {}, flips: {}, refused, reason: refused > 0 ? asked.reason : "" };
    for (const result of numbers) {
      const ordered = exact.get(result) || sorted(rows.map((row) => row[result]).filter(number));
      if (!ordered.length) continue;
      const [low, high] = exact.has(result)
        ? ordered
        : ENDS.map((share) => HB.spread.quantile(ordered, share));
      found.intervals[result] = { low, high, dominant: dominant(result, middle, alone) };
    }
    for (const result of declared.results) {
      if (!result.words || middle[result.name] === null) continue;
      const changes = flips(asked, leaves, best, spans, result.name, middle[result.name], alone);
      if (changes.length) found.flips[result.name] = changes;
    }
    return found;
  };

  /** @param {HB.Input[]} leaves @param {HB.Values} values @param {HB.Spans} spans @param {number} trials */
  function allTrials(leaves, values, spans, trials) {
    const shares = Array.from({ length: trials }, (_, i) => HB.spread.share_of(i));
    const points = leaves.map((leaf) =>
      shares.map((share) => at(leaf, values[leaf.name], spans[leaf.name], share)),
    );
    const steps = leaves.map((_, place) => HB.spread.generator(place));
    return shares.map((_, trial) =>
      Object.fromEntries(leaves.map((leaf, i) => [leaf.name, points[i][(trial * steps[i]) % trials]])),
    );
  }

  /* The two ends of each result that no input but one moves, and that one in one direction. The others must
     leave it as it is each by itself, and all of them at either end. */
  /** @param {HB.Input[]} leaves @param {HB.Values} middle @param {string[]} numbers
      @param {Map<HB.Input, (HB.Values | null)[]>} alone
      @param {(changed: Record<string, number>) => HB.Values | null} tryOf
      @param {(leaf: HB.Input, share: number) => number} shareOf */
  function oneDirection(leaves, middle, numbers, alone, tryOf, shareOf) {
    /** @type {Map<string, number[]>} */
    const exact = new Map();
    /** @param {HB.Input} leaf */
    const triedOf = (leaf) => alone.get(leaf) || [];
    for (const leaf of leaves) {
      const others = leaves.filter((other) => other !== leaf);
      const named = numbers.filter(
        (result) =>
          !exact.has(result) &&
          !others.some((other) => triedOf(other).some((found) => !found || found[result] !== middle[result])),
      );
      if (!named.length) continue;
      const between = BETWEEN.map((share) => tryOf({ [leaf.name]: shareOf(leaf, share) }));
      const [low, high] = triedOf(leaf);
      const tried = [low, between[0], middle, between[1], high];
      /** @type {(HB.Values | null)[]} */
      const corners = [];
      for (const share of others.length ? ENDS : []) {
        const there = Object.fromEntries(others.map((other) => [other.name, shareOf(other, share)]));
        for (const end of ENDS) corners.push(tryOf({ ...there, [leaf.name]: shareOf(leaf, end) }));
      }
      if (tried.includes(null) || corners.includes(null)) continue;
      for (const result of named) {
        const along = tried.map((found) => (found || {})[result]);
        if (!along.every(number)) continue;
        const rising = along.every((y, i) => !i || along[i - 1] <= y);
        const falling = along.every((y, i) => !i || along[i - 1] >= y);
        const alike = corners.every((found, i) => (found || {})[result] === along[i % 2 ? 4 : 0]);
        if ((rising || falling) && alike) exact.set(result, sorted([along[0], along[4]]));
      }
    }
    return exact;
  }

  /** @param {string} result @param {HB.Values} middle @param {Map<HB.Input, (HB.Values | null)[]>} alone */
  function dominant(result, middle, alone) {
    const moved = Array.from(alone, ([leaf, tried]) => {
      const values = tried
        .filter(Boolean)
        .map((found) => (found || {})[result])
        .filter(number)
        .concat(middle[result]);
      return { name: leaf.name, by: Math.max(...values) - Math.min(...values) };
    });
    return moved
      .filter(({ by }) => by > 0)
      .sort((a, b) => b.by - a.by)
      .slice(0, 2)
      .map(({ name }) => name);
  }

  /* Where a verdict changes when one input alone goes to an end of its span. */
  /** @param {any} asked @param {HB.Input[]} leaves @param {Record<string, number>} best @param {HB.Spans} spans
      @param {string} result @param {string} word @param {Map<HB.Input, (HB.Values | null)[]>} alone */
  function flips(asked, leaves, best, spans, result, word, alone) {
    /** @type {HB.Flip[]} */
    const changes = [];
    for (const leaf of leaves) {
      spans[leaf.name].forEach((end, i) => {
        const found = (alone.get(leaf) || [])[i];
        const other = found ? found[result] : "refused";
        if (other === word || end === best[leaf.name]) return;
        let same = best[leaf.name],
          changed = end;
        for (let step = 0; step < BISECTIONS; step += 1) {
          const edge = (same + changed) / 2;
          const tried = asked.run({ ...best, [leaf.name]: edge });
          if (tried && tried[result] === word) same = edge;
          else changed = edge;
        }
        changes.push({
          word: other,
          input: leaf,
          above: end > best[leaf.name],
          edge: same,
          value: best[leaf.name],
        });
      });
    }
    return changes;
  }

  /* ---- in words, those of engine/known.py ---- */

  /** @param {string} name */
  function words(name) {
    return name.replace(/_/g, " ");
  }

  HB.showInterval = function (value, low, high, unit, digits, side) {
    const [text, below, above] = HB.spread.interval_texts(value, low, high, digits, side || 0);
    if (text === below && text === above) return HB.show(value, unit, digits, side);
    const label = HB.label(unit);
    return `${label ? `${text}\u00a0${label}` : text} (${below} to ${above})`;
  };

  /* A number of a result, with its interval where that can be seen, in another unit than its own. */
  HB.shownIn = function (unit, result, value, interval) {
    /** @param {number} number */
    const turned = (number) => HB.convert(number, result.unit, unit);
    const { digits, side } = result;
    return interval
      ? HB.showInterval(turned(value), turned(interval.low), turned(interval.high), unit, digits, side)
      : HB.show(turned(value), unit, digits, side);
  };

  /* The intervals that can be seen in print. */
  HB.seenIntervals = function (name, results, spread) {
    /** @type {Record<string, HB.Interval>} */
    const seen = {};
    /** @param {HB.Result} result @param {string} place @param {any} value */
    const see = (result, place, value) => {
      const interval = spread && spread.intervals[place];
      if (interval && HB.shownResult(result, value, {}, interval) !== HB.shownResult(result, value, {})) {
        seen[place] = interval;
      }
    };
    for (const result of HB.declared[name].results) {
      const value = results[result.name];
      see(result, result.name, value);
      if (result.kind !== "listing" || !value) continue;
      value.forEach((/** @type {any[]} */ row, /** @type {number} */ i) => {
        row.forEach((cell, j) => {
          see(result.columns[j], HB.cellName(result.name, i, j), cell);
        });
      });
    }
    return seen;
  };

  const MOST_NAMED = 2; // inputs that are named as those an interval comes from

  /* The inputs named most often, first those. */
  /** @param {string[]} found */
  function ranked(found) {
    /** @param {string} name */
    const count = (name) => found.filter((other) => other === name).length;
    return Array.from(new Set(found))
      .sort((a, b) => count(b) - count(a))
      .slice(0, MOST_NAMED);
  }

  HB.notes = function (result, value, intervals, spread) {
    const said = [];
    const own = Object.keys(intervals).filter(
      (place) => place === result.name || place.startsWith(`${result.name}[`),
    );
    if (own.length) {
      const most = ranked(own.flatMap((place) => intervals[place].dominant))
        .map(words)
        .join(" and ");
      said.push(most ? `5 to 95 %, most of it from ${most}` : "5 to 95 %");
    }
    for (const flip of (spread && spread.flips[result.name]) || []) {
      const label = HB.label(flip.input.unit);
      const edge = HB.spread.safe_edge(flip.edge, flip.value, flip.above);
      said.push(
        `${value}, but not if ${words(flip.input.name)} is ${flip.above ? "more" : "less"} than ` +
          `${label ? `${edge}\u00a0${label}` : edge} (then ${flip.word})`,
      );
    }
    return said;
  };

  HB.refusedShare = function (spread) {
    if (!spread || !(spread.refused > 0)) return "";
    const share = HB.spread.counted(Math.max(1, 100 * spread.refused));
    return `${share} % of what the inputs may be has no answer: ${spread.reason}`;
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
