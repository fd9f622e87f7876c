// Runs the whole program in this phone, so that every page works without
// signal. A line before this one, written by the server, says which build this
// is: build = { id, assets: [[path, size, sha256], …] }.
"use strict";
importScripts("/static/wasm_exec.js");

const own = "rung-" + build.id, notebook = "rung-notes";
// What only the server can answer; this script never touches it.
const serverOnly = ["/api/exchange", "/api/device", "/sign-in", "/sign-out", "/setup", "/enrol", "/office", "/trust", "/report", "/gallery", "/sw.js"];
// The clocks, in milliseconds: starting the program, and answering. The third,
// of one call to the store, is in the program. Time is counted in ticks, so
// that computing, during which nothing can come in, does not count; and while
// the program says that it is working the clock starts again, up to a minute.
const limits = { boot: 3000, answer: 5000, work: 60000, tick: 50 };
let signs = 0; // of work
const mostBytes = 32 << 20; // of a form; above it the program would want a temporary file
const mostMemory = 192 << 20; // of the program; above it a fresh one is started when it is idle

const within = (limit, promise) => new Promise((done, fail) => {
  let ticks = limit / limits.tick, most = limits.work / limits.tick, seen = signs;
  const clock = setInterval(() => {
    if (seen !== signs) ticks = limit / limits.tick;
    seen = signs;
    if (--ticks > 0 && --most > 0) return;
    clearInterval(clock);
    fail(Object.assign(new Error("no answer within " + limit + " ms"), { late: true }));
  }, limits.tick);
  promise.then(v => { clearInterval(clock); done(v); }, e => { clearInterval(clock); fail(e); });
});

// Notes about starts and failures, kept beside the store because the store may
// be what fails.
let noting = Promise.resolve();
const readNotes = async () => {
  const kept = await (await caches.open(notebook)).match("/notes");
  return kept ? kept.json() : { starts: 0, hung: 0, died: 0, failed: 0 };
};
const note = change => noting = noting.then(async () => {
  const notes = await readNotes();
  change(notes);
  await (await caches.open(notebook)).put("/notes", new Response(JSON.stringify(notes)));
}).catch(() => {});

// Installing: every file or none, each checked against the build.
const tell = async message => { for (const c of await clients.matchAll({ includeUncontrolled: true })) c.postMessage(message); };
const hex = buffer => [...new Uint8Array(buffer)].map(b => b.toString(16).padStart(2, "0")).join("");

async function fetchAsset([path, , sha], progress) {
  const answer = await fetch(path, { cache: "reload" });
  if (!answer.ok || answer.redirected) throw new Error(path + " answers " + answer.status);
  const copy = answer.clone(); // kept with its address, under which a browser may keep the compiled program too
  const parts = [];
  for (const reader = answer.body.getReader(); ;) {
    const { done, value } = await reader.read();
    if (done) break;
    parts.push(value);
    progress(value.length);
  }
  const content = await new Blob(parts).arrayBuffer();
  if (hex(await crypto.subtle.digest("SHA-256", content)) !== sha) throw new Error(path + " is not of this version");
  return copy;
}

async function install() {
  const total = build.assets.reduce((sum, [, size]) => sum + size, 0);
  let got = 0, told = 0;
  const progress = n => {
    got += n;
    if (got - told > total / 50) tell({ progress: (told = got) / total });
  };
  try {
    const fetched = [];
    for (const asset of build.assets) fetched.push([asset[0], await fetchAsset(asset, progress)]);
    const cache = await caches.open(own);
    for (const [path, answer] of fetched) await cache.put(path, answer);
  } catch (e) {
    await caches.delete(own);
    await tell({ failed: String(e.message || e) });
    throw e;
  }
  if (!registration.active) await skipWaiting(); // the first; later ones wait for the mechanic
}

addEventListener("install", e => e.waitUntil(install()));
addEventListener("activate", e => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("rung-") && name !== own && name !== notebook) await caches.delete(name);
  await clients.claim();
})()));

const asset = async path => {
  const kept = await (await caches.open(own)).match(path);
  return kept || fetch(path);
};

// One life of the program. What fails or stays silent is thrown away; a late
// answer of an old life concerns nobody.
let life = null, lives = 0;
const waiting = new Map();
globalThis.rung = {
  shop: null,
  working: () => { signs++; },
  ready: (number, handle) => { const w = waiting.get(number); if (w) w.done(handle); },
  failed: (number, why) => { const w = waiting.get(number); if (w) w.fail(new Error(why)); },
};
const discard = old => { if (life === old) life = null; };

function begin() {
  const me = { number: String(++lives), busy: 0, proven: false };
  me.ended = new Promise((_, fail) => { me.end = fail; });
  me.ended.catch(() => {});
  me.ready = (async () => {
    const from = performance.now(), go = new Go();
    go.argv = ["rung", me.number];
    const [program, shop] = await Promise.all([asset("/static/rung.wasm"), asset("/static/shop.json").then(r => r.json())]);
    rung.shop = shop;
    const { instance } = await WebAssembly.instantiateStreaming(program, go.importObject);
    const compiled = performance.now();
    me.memory = instance.exports.mem;
    const handle = await new Promise((done, fail) => {
      waiting.set(me.number, { done, fail });
      const over = e => { discard(me); fail(e); me.end(e); note(n => { n.died++; n.last = String(e.message || e); n.lastAt = Date.now(); }); };
      go.run(instance).then(() => over(new Error("the program ended")), over);
    }).finally(() => waiting.delete(me.number));
    const boot = performance.now() - from;
    note(n => { n.starts++; n.boot = Math.round(boot); n.compile = Math.round(compiled - from); n.at = Date.now(); });
    return handle;
  })();
  me.ready.catch(() => {});
  return me;
}

async function ask(method, url, headers, body) {
  for (let attempt = 0; ; attempt++) {
    const mine = life || (life = begin());
    mine.busy++;
    try {
      const handle = await within(limits.boot, mine.ready);
      const patience = new URL(url).pathname === "/hand-over/photos" ? limits.work : limits.answer; // photos go through a weak signal slowly
      const a = await within(patience, Promise.race([handle(method, url, headers.flat(), body), mine.ended]));
      if (a.status === 200) mine.proven = true;
      return a;
    } catch (e) {
      discard(mine);
      note(n => { if (e.late) n.hung++; n.last = String(e.message || e); n.lastAt = Date.now(); if (attempt) n.failed++; });
      if (attempt) throw e;
    } finally {
      mine.busy--;
      if (mine.busy === 0 && mine.memory && mine.memory.buffer.byteLength > mostMemory) discard(mine);
    }
  }
}

// Where a form comes from. A browser that does not show its Origin header here
// still says which page of ours it was sent from; without either it is refused.
const originOf = request => request.headers.get("Origin") ||
  (request.referrer && new URL(request.referrer, location.href).origin === location.origin ? location.origin : "null");

async function answer(request) {
  const headers = [...request.headers].filter(([name]) => name !== "origin");
  if (request.method !== "GET" && request.method !== "HEAD") headers.push(["Origin", originOf(request)]);
  const body = new Uint8Array(await request.arrayBuffer());
  if (body.length > mostBytes) return new Response("That form is too large.", { status: 413 });
  try {
    const a = await ask(request.method, request.url.split("#")[0], headers, body);
    const empty = [204, 303, 304].includes(a.status) || request.method === "HEAD";
    return new Response(empty ? null : a.body, { status: a.status, headers: a.headers });
  } catch {
    const page = await asset("/static/again.html");
    const back = request.method === "GET" ? request.url : request.referrer || location.origin; // a form is opened again where it was filled in
    const text = (await page.text()).replace('href=""', `href="${encodeURI(decodeURI(new URL(back).pathname))}"`);
    return new Response(text, { status: 503, headers: page.headers });
  }
}

addEventListener("fetch", e => {
  const url = new URL(e.request.url), under = p => url.pathname === p || url.pathname.startsWith(p + "/");
  if (url.origin !== location.origin || serverOnly.some(under)) return;
  if (url.pathname === "/favicon.ico") e.respondWith(asset("/static/icon.svg")); // asked for by pages that name no icon
  else e.respondWith(url.pathname.startsWith("/static/") ? asset(url.pathname) : answer(e.request));
});

// What a page asks: how things stand, or to let a new version take over.
async function state() {
  const cache = await caches.open(own), missing = [];
  for (const [path] of build.assets) if (!await cache.match(path)) missing.push(path);
  if (!(life && life.proven)) await ask("GET", location.origin + "/", [], new Uint8Array()).catch(() => {});
  await noting;
  return { ...await readNotes(), build: build.id, missing, rendered: Boolean(life && life.proven), memory: life && life.memory ? life.memory.buffer.byteLength : 0 };
}

addEventListener("message", e => {
  if (e.data === "update") e.waitUntil(skipWaiting());
  if (e.data === "state" && e.ports[0]) e.waitUntil(state().then(s => e.ports[0].postMessage(s)));
});
