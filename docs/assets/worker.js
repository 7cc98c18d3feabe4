/* The service worker: keeps one edition of the handbook whole, for use with the network gone. The build puts
   before it what it keeps: `site = {name, edition, files}`, each file with the start of its SHA-256.

   Nothing of an edition is shown before all of it is here and is what the build wrote, and a newer one waits
   until no page is open or the reader asks for it: a page of one edition with the figures of another is the one
   thing that must not be. */

(function () {
  "use strict";

  /** @type {any} the worker's own scope, for which the page's types have no name */
  const worker = self;
  /** @type {{name: string, edition: string, files: Record<string, string>}} */
  const site = worker.site;
  const root = worker.registration.scope;
  // Several handbooks may share one address, and then one store.
  const ours = `handbook ${root} `;
  const kept = ours + site.name;
  const SUM = "x-handbook-sum";
  const AT_ONCE = 6;

  /** @param {string} path @returns {string} */
  const address = (path) => new URL(path, root).href;

  /** @param {ArrayBuffer} bytes */
  async function sumOf(bytes) {
    const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
    return [...digest.slice(0, 8)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  /** A file as the build wrote it, from an earlier edition that holds the same, or from the server.
   * @param {string} path @param {Cache[]} earlier */
  async function whole(path, earlier) {
    for (const cache of earlier) {
      const held = await cache.match(address(path));
      if (held && held.headers.get(SUM) === site.files[path]) return held;
    }
    const answer = await fetch(address(path), { cache: "no-cache" });
    const bytes = await answer.arrayBuffer();
    if (!answer.ok || (await sumOf(bytes)) !== site.files[path])
      throw new Error(`${path} is not as edition ${site.edition} was built (status ${answer.status})`);
    // Made anew, because an answer that came by a redirection may not stand for a page.
    const type = answer.headers.get("content-type") || "application/octet-stream";
    return new Response(bytes, { headers: { "content-type": type, [SUM]: site.files[path] } });
  }

  async function install() {
    const earlier = await Promise.all(
      (await caches.keys()).filter((name) => name.startsWith(ours)).map((name) => caches.open(name)),
    );
    const cache = await caches.open(kept);
    const waiting = Object.keys(site.files);
    const next = async () => {
      for (let path = waiting.pop(); path !== undefined; path = waiting.pop())
        await cache.put(address(path), await whole(path, earlier));
    };
    await Promise.all(Array.from({ length: AT_ONCE }, next));
  }

  async function dropEarlier() {
    const names = (await caches.keys()).filter((name) => name.startsWith(ours) && name !== kept);
    await Promise.all(names.map((name) => caches.delete(name)));
  }

  /** The file that an address of this handbook asks for. @param {string} asked */
  function pathOf(asked) {
    let path = asked.slice(root.length).replace(/[?#].*$/, "");
    try {
      path = decodeURI(path);
    } catch (_) {
      return path; // no address of ours; the server may know it
    }
    return path === "" || path.endsWith("/") ? `${path}index.html` : path;
  }

  /** @param {Request} request */
  async function answer(request) {
    const path = pathOf(request.url);
    if (Object.hasOwn(site.files, path)) {
      const held = await (await caches.open(kept)).match(address(path));
      // The browser has thrown the store away: this edition is no longer whole, so it steps aside.
      if (!held) await worker.registration.unregister();
      return held || fetch(request);
    }
    try {
      return await fetch(request);
    } catch (_) {
      const page =
        request.mode === "navigate" && (await (await caches.open(kept)).match(address("404.html")));
      return new Response(page ? page.body : "Not kept for use without the network.", {
        status: page ? 404 : 503,
        headers: { "content-type": page ? "text/html" : "text/plain" },
      });
    }
  }

  worker.addEventListener("install", (/** @type {any} */ event) => event.waitUntil(install()));
  worker.addEventListener("activate", (/** @type {any} */ event) => event.waitUntil(dropEarlier()));
  worker.addEventListener("fetch", (/** @type {any} */ event) => {
    if (event.request.method === "GET" && event.request.url.startsWith(root))
      event.respondWith(answer(event.request));
  });
  worker.addEventListener("message", (/** @type {any} */ event) => {
    if (event.data === "take over") worker.skipWaiting();
    else if (event.data === "edition") event.ports[0].postMessage(site.edition);
  });
})();
