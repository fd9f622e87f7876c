// Sets this phone up to work without signal, says how it stands, and offers new
// versions. The pages themselves work without this file.
"use strict";
(() => {
  const by = id => document.getElementById(id);
  const worker = window.isSecureContext ? navigator.serviceWorker : undefined;

  // Asks the worker how things stand; fails if it does not answer.
  const state = () => new Promise((done, fail) => {
    const line = new MessageChannel();
    line.port1.onmessage = e => done(e.data);
    setTimeout(() => fail(new Error("no answer")), 12000);
    worker.controller.postMessage("state", [line.port2]);
  });

  // An iPhone throws the data of a plain page away after a week: it must be on the home screen.
  const plainPage = "standalone" in navigator && !navigator.standalone;
  const cannot = () => {
    if (!window.isSecureContext) return "This address is not secure: the browser keeps no pages of it. Ask whoever runs the server for its https address, and open that.";
    if (!worker || !window.caches || !window.indexedDB) return "This browser keeps nothing here: it is a private window, or too old. Open the page in a normal window of a current browser.";
    if (plainPage) return "Put this page on the home screen first (Share, then Add to Home Screen), open it from there and set it up there. The browser deletes the data of a plain page.";
    return "";
  };
  const warn = text => {
    const box = by("cannot");
    if (!box || !text) return;
    box.innerHTML = "<strong>Caution</strong><p></p>";
    box.lastChild.textContent = text;
    box.hidden = false;
  };

  const sign = (mark, short, words) => {
    const s = by("signal");
    if (s) s.innerHTML = `<span aria-hidden="true">${mark}<span class="word"> ${short}</span></span><span class="unseen">${words}</span>`;
  };
  const size = n => n < 1e9 ? (n / 1e6).toFixed(1) + " MB" : (n / 1e9).toFixed(1) + " GB";
  const moment = t => new Date(t).toLocaleString();

  async function show() {
    let s = null, why = cannot();
    try { s = await state(); } catch { why = why || "The worker of this phone does not answer."; }
    if (s && s.missing.length) why = why || "Not everything is kept on this phone: " + s.missing.length + " files are missing.";
    if (s && !s.rendered) why = why || "The program in this phone has not answered.";
    why ? sign("✗", "needs signal", "This phone does not work without signal.") : sign("✓", "no signal needed", "This phone works without signal.");
    const list = by("standing");
    if (!list) return;
    by("ready").textContent = why ? "✗ Not ready: " + why : "✓ This phone works without signal.";
    const keeps = navigator.storage && navigator.storage.persisted ? await navigator.storage.persisted() : false;
    const used = navigator.storage && navigator.storage.estimate ? await navigator.storage.estimate() : {};
    if (!keeps) warn("The browser has not promised to keep the data. It may delete it when the phone runs full; a private window loses it when it is closed. Hand entries to the server when there is signal.");
    by("persist").hidden = keeps || !navigator.storage || !navigator.storage.persist;
    const facts = { "Data is kept": keeps ? "✓ promised by the browser" : "✗ not promised" };
    if (used.quota) facts["Room used"] = `${size(used.usage)} of ${size(used.quota)}`;
    if (s) {
      facts["Version"] = s.build;
      if (s.starts) facts["Last start"] = `${s.boot} ms, of them compiling ${s.compile}; ${moment(s.at)}`;
      facts["Starts"] = `${s.starts}, of them silent ${s.hung}, broken off ${s.died}, without an answer ${s.failed}`;
      if (s.last) facts["Last trouble"] = `${s.last}, ${moment(s.lastAt)}`;
      facts["Memory in use"] = size(s.memory);
    }
    list.replaceChildren(...Object.entries(facts).map(([name, value]) => {
      const row = document.createElement("div"), dt = document.createElement("dt"), dd = document.createElement("dd");
      dt.textContent = name;
      dd.textContent = value;
      row.append(dt, dd);
      return row;
    }));
    list.dataset.shown = "yes";
  }

  // A new version waits until the mechanic agrees: never in the middle of a call.
  function offer(registration) {
    if (!registration.waiting || !worker.controller || by("update")) return;
    const box = document.createElement("div"), text = document.createElement("p"), button = document.createElement("button");
    box.className = "offer";
    box.id = "update";
    text.textContent = "A new version is ready.";
    button.type = "button";
    button.textContent = "Update now";
    button.addEventListener("click", () => {
      button.disabled = true;
      worker.addEventListener("controllerchange", () => location.reload());
      registration.waiting ? registration.waiting.postMessage("update") : location.reload();
    });
    box.append(text, button);
    by("main").append(box);
  }
  function watch(registration) {
    offer(registration);
    registration.addEventListener("updatefound", () => {
      const fresh = registration.installing;
      if (fresh) fresh.addEventListener("statechange", () => offer(registration));
    });
  }

  async function setUp(form) {
    const said = by("said"), bar = by("progress"), button = form.querySelector("button");
    button.disabled = true;
    said.textContent = "Fetching the program …";
    bar.hidden = false;
    worker.addEventListener("message", e => {
      if (e.data.progress) bar.value = e.data.progress;
      if (e.data.failed) said.textContent = "It could not be fetched: " + e.data.failed;
    });
    try {
      await worker.register("/sw.js", { updateViaCache: "none" });
      if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => {});
      if (!worker.controller) await Promise.race([
        new Promise(done => worker.addEventListener("controllerchange", done)),
        worker.getRegistration().then(r => new Promise((_, fail) => {
          const fresh = r.installing || r.waiting;
          if (fresh) fresh.addEventListener("statechange", () => fresh.state === "redundant" && fail(new Error(said.textContent)));
        })),
      ]);
      bar.value = 1;
      said.textContent = "Ready. Starting …";
      form.submit(); // to the phone itself, which keeps the name
    } catch (e) {
      bar.hidden = true;
      button.disabled = false;
      said.textContent = "✗ This did not work: " + (e.message || e) + " Go where the signal is better and try again.";
    }
  }

  const form = by("set-up");
  if (form) {
    const why = cannot();
    warn(why);
    why ? form.remove() : form.hidden = false;
    form.addEventListener("submit", e => { e.preventDefault(); setUp(form); });
  }
  if (by("persist")) by("persist").addEventListener("click", async () => { await navigator.storage.persist(); show(); });
  if (by("give-back")) {
    by("give-back").hidden = !worker;
    by("give-back").addEventListener("click", async () => {
      const r = await worker.getRegistration();
      if (r) await r.unregister();
      location.assign("/");
    });
  }
  // Entries go to the server whenever there is signal: after something was
  // recorded at once, else once a minute. The program in the phone does it.
  function exchange() {
    if (!navigator.onLine || document.hidden) return;
    const recorded = document.querySelector("main .notice") !== null;
    if (!recorded && Date.now() - Number(localStorage.getItem("exchanged")) < 60000) return;
    localStorage.setItem("exchanged", Date.now());
    const run = path => fetch(path, { method: "POST", redirect: "manual" });
    run("/hand-over/run").then(() => {
      if (location.search === "?enrolled") location.replace("/phone"); // which says now for whom
      return run("/hand-over/photos"); // a reading does not wait for a picture
    }).catch(() => {});
  }

  if (!worker) return;
  worker.getRegistration().then(r => {
    if (!r) return;
    watch(r);
    if (worker.controller) {
      show().then(exchange);
      addEventListener("online", exchange);
      document.addEventListener("visibilitychange", exchange);
    }
    addEventListener("online", () => r.update().catch(() => {}));
    if (by("standing")) r.update().catch(() => {});
  });
})();
