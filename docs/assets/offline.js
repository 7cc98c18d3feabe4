/* Use with the network gone, where the handbook is served: registers the worker and tells of a newer edition.
   From a folder there is no worker, and none is needed. */

(function () {
  "use strict";

  const named = /** @type {HTMLMetaElement | null} */ (
    document.querySelector('meta[name="handbook-manifest"]')
  );
  if (!named || !/^https?:$/.test(location.protocol)) return;
  const manifest = document.createElement("link");
  manifest.rel = "manifest";
  manifest.href = named.content;
  document.head.append(manifest);
  const workers = navigator.serviceWorker;
  if (!workers) return; // plain HTTP to another machine

  /* Only the page of an edition that was served by a worker is followed by a newer one. */
  let controlled = Boolean(workers.controller);

  /** @param {ServiceWorker} newer */
  function tell(newer) {
    const channel = new MessageChannel();
    channel.port1.onmessage = (event) => show(newer, String(event.data));
    newer.postMessage("edition", [channel.port2]);
  }

  /** @param {ServiceWorker} newer @param {string} edition */
  function show(newer, edition) {
    const article = document.querySelector("article");
    const shown = document.querySelector(".hb-newer");
    if (shown) shown.remove();
    if (!article) return;
    const note = document.createElement("p");
    note.className = "hb-newer";
    note.setAttribute("role", "status");
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Reload";
    button.addEventListener("click", () => newer.postMessage("take over"));
    note.append(`A newer edition is here (${edition}). This page is of the earlier one. `, button);
    article.prepend(note);
  }

  /** @param {ServiceWorkerRegistration} registration */
  function follow(registration) {
    if (registration.waiting && workers.controller) tell(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const arriving = registration.installing;
      if (!arriving) return;
      arriving.addEventListener("statechange", () => {
        if (arriving.state === "installed" && workers.controller) tell(arriving);
      });
    });
    // A page may stay open at the bench for days.
    const look = () => registration.update().catch(() => undefined);
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) look();
    });
    window.setInterval(look, 3_600_000);
  }

  /* What is typed and ticked is kept on the device, so that nothing is lost; every open page changes at once,
     because none may go on with the files of another edition. */
  workers.addEventListener("controllerchange", () => {
    if (controlled) location.reload();
    controlled = true;
  });

  window.addEventListener("load", () => {
    workers
      .register(new URL("worker.js", manifest.href), { updateViaCache: "none" })
      .then(follow)
      .catch((fault) => console.warn(`Not kept for use without the network: ${fault.message}`));
  });
})();
