"use strict";
// The search asks for a worker, which no browser starts from a folder. There, this stands in for one: a
// hidden frame that runs the worker's script, with the two functions that the script expects of a worker.
// It writes no script into the frame, so that the pages' policy may forbid scripts that texts hold.
(() => {
  class FolderWorker extends EventTarget {
    constructor(address) {
      super();
      this.frame = document.createElement("iframe");
      this.frame.hidden = true;
      document.body.append(this.frame);
      const inner = this.frame.contentWindow;
      const load = (from) => new Promise((loaded, failed) => {
        const script = inner.document.createElement("script");
        script.src = new URL(from, document.baseURI);
        script.onload = loaded;
        script.onerror = () => failed(new Error(`${script.src} cannot be loaded`));
        inner.document.body.append(script);
      });
      inner.importScripts = (...scripts) => scripts.reduce(
        (before, script) => before.then(() => load(script)), Promise.resolve());
      inner.postMessage = (data) => this.tell("message", { data: structuredClone(data) });
      this.ready = load(address);
      this.ready.catch((error) => this.tell("error", { message: error.message }));
    }

    tell(kind, details) {
      const event = Object.assign(new Event(kind), details);
      setTimeout(() => {
        this.dispatchEvent(event);
        this[`on${kind}`]?.(event);
      });
    }

    postMessage(data) {
      const inner = this.frame.contentWindow;
      this.ready.then(() => inner.dispatchEvent(
        new inner.MessageEvent("message", { data: inner.structuredClone(data) })));
    }

    terminate() {
      this.frame.remove();
    }
  }
  if (location.protocol === "file:") window.Worker = FolderWorker;
})();
