/* What a reader set or typed, kept on this device: the only place that touches localStorage. Knows no page.

   From a folder, all pages of all folders share one store: the key carries the house. Where a browser
   refuses to keep anything, what was set holds for this page. */

(function (HB) {
  "use strict";

  const VERSION = "handbook/1";

  // Where no piece can be chosen, as in the book, none is.
  HB.pieceName = () => "";

  HB.openStore = function (host, house) {
    const prefix = `${VERSION}/${house}/`;
    /** @type {Map<string, string>} */
    const memory = new Map();
    /** @type {Map<string, Set<(value: any) => void>>} */
    const listeners = new Map();

    /** @param {string | null | undefined} text */
    function parsed(text) {
      if (text === null || text === undefined) return undefined;
      try {
        return JSON.parse(text);
      } catch (problem) {
        return undefined;
      } // not ours, or cut short
    }

    /** @param {string} name */
    function get(name) {
      if (memory.has(name)) return parsed(memory.get(name));
      try {
        return parsed(host.localStorage.getItem(prefix + name));
      } catch (problem) {
        return undefined;
      }
    }

    /** @param {string} name @param {any} value what JSON can hold; undefined takes the entry away */
    function set(name, value) {
      try {
        if (value === undefined) host.localStorage.removeItem(prefix + name);
        else host.localStorage.setItem(prefix + name, JSON.stringify(value));
        memory.delete(name);
        return true;
      } catch (problem) {
        // refused or full
        memory.set(name, value === undefined ? "" : JSON.stringify(value));
        return false;
      }
    }

    /* Write of some entries only those that have changed, so that what another page set in others meanwhile stays. */
    /** @param {string} name @param {Record<string, any>} was @param {Record<string, any>} is */
    function merge(name, was, is) {
      const kept = get(name);
      const all = kept && typeof kept === "object" ? { ...kept } : {};
      for (const key of new Set([...Object.keys(was), ...Object.keys(is)])) {
        if (JSON.stringify(was[key]) === JSON.stringify(is[key])) continue;
        if (is[key] === undefined) delete all[key];
        else all[key] = is[key];
      }
      return set(name, Object.keys(all).length ? all : undefined);
    }

    /* Tells what another page of the same house set; returns a function that ends it. */
    /** @param {string} name @param {(value: any) => void} listener */
    function subscribe(name, listener) {
      const known = listeners.get(name) || new Set();
      listeners.set(name, known.add(listener));
      return () => {
        known.delete(listener);
      };
    }

    host.addEventListener("storage", (/** @type {StorageEvent} */ event) => {
      if (!event.key || !event.key.startsWith(prefix)) return;
      const name = event.key.slice(prefix.length);
      memory.delete(name);
      for (const listener of listeners.get(name) || []) listener(parsed(event.newValue));
    });

    /* A page that the reader comes back to stands as it was left, and was not told what was set meanwhile. */
    /** @type {Map<string, string>} */
    const left = new Map();
    host.addEventListener("pagehide", () => {
      for (const name of listeners.keys()) left.set(name, JSON.stringify(get(name)) || "");
    });
    host.addEventListener("pageshow", (/** @type {PageTransitionEvent} */ event) => {
      if (!event.persisted) return;
      for (const [name, was] of left)
        if ((JSON.stringify(get(name)) || "") !== was)
          for (const listener of listeners.get(name) || []) listener(get(name));
    });

    return { get, set, merge, subscribe };
  };
})((window.HB = window.HB || /** @type {any} */ ({})));
