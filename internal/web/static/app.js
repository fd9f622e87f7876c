// Small comforts. Every page works without this file.
"use strict";

// Light: follows the phone, or sun, or dark, as last chosen on this device.
const spanish = document.documentElement.lang === "es", say = (en, es) => spanish ? es : en;
const lights = ["", "sun", "dark"], names = { "": say("Light: auto", "Luz: auto"), sun: say("Light: sun", "Luz: sol"), dark: say("Light: dark", "Luz: oscura") };
const store = { get(k) { try { return localStorage.getItem(k); } catch { return null; } }, set(k, v) { try { v === null ? localStorage.removeItem(k) : localStorage.setItem(k, v); } catch { } } };
const shine = v => { v ? document.documentElement.dataset.light = v : delete document.documentElement.dataset.light; };
let light = store.get("light") || "";
shine(light);
const button = document.getElementById("light");
if (button) {
  button.hidden = false;
  button.textContent = names[light];
  button.addEventListener("click", () => {
    light = lights[(lights.indexOf(light) + 1) % lights.length];
    store.set("light", light);
    shine(light);
    button.textContent = names[light];
  });
}

// What was typed survives a closed browser and a server that does not answer:
// kept per form until a page says that it was recorded.
if (store.get("sent") && document.querySelector(".notice")) {
  store.set(store.get("sent"), null);
  store.set("sent", null);
}
for (const form of document.querySelectorAll("form[data-keep]")) {
  const which = name => form.elements[name] ? form.elements[name].value : "";
  const key = ["typed", location.pathname, form.getAttribute("action"), which("check"), which("epoch")].join(" ");
  const fields = () => [...form.elements].filter(e => e.name && e.type !== "hidden" && e.type !== "file" && e.type !== "password" && e.type !== "submit");
  const typed = JSON.parse(store.get(key) || "{}");
  for (const e of fields()) {
    if (e.type === "radio" || e.type === "checkbox" || e.tagName === "SELECT" || e.value !== "" || !typed[e.name]) continue;
    e.value = typed[e.name];
  }
  form.addEventListener("input", () => {
    const now = {};
    for (const e of fields()) if (e.type !== "radio" && e.type !== "checkbox" && e.tagName !== "SELECT" && e.value) now[e.name] = e.value;
    store.set(key, Object.keys(now).length ? JSON.stringify(now) : null);
  });
  let sent = false;
  form.addEventListener("submit", e => {
    if (sent) { e.preventDefault(); return; }
    sent = true;
    store.set("sent", key);
    setTimeout(() => { sent = false; }, 4000);
  });
}

// A number pad has no minus on some phones: a button turns the sign.
for (const input of document.querySelectorAll("input[data-signed]")) {
  const b = document.createElement("button");
  b.type = "button";
  b.className = "sign";
  b.textContent = "±";
  b.setAttribute("aria-label", say("Change the sign", "Cambiar el signo"));
  b.addEventListener("click", () => {
    input.value = input.value.startsWith("-") ? input.value.slice(1) : "-" + input.value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.focus();
  });
  input.after(b);
}

// Settling: minutes since the unit was started, counted on this device.
for (const clock of document.querySelectorAll("[data-settle]")) {
  const key = "settle " + clock.dataset.settle;
  const show = () => {
    const from = Number(store.get(key));
    clock.textContent = from ? Math.floor((Date.now() - from) / 60000) + say(" min running", " min en marcha") : say("Start the settling clock", "Arrancar el reloj de estabilización");
  };
  clock.hidden = false;
  clock.addEventListener("click", () => { store.set(key, Date.now()); show(); });
  show();
  setInterval(show, 15000);
}

// A photo is drawn smaller before it is sent: a tenth of the bytes, and nothing of
// what the camera wrote into it. Where that does not work the file goes as it is.
async function shrink(input, shown) {
  const file = input.files[0], form = input.form, button = form.querySelector("button.main");
  for (const other of form.querySelectorAll("input[data-longest]")) if (other !== input) other.value = "";
  shown.replaceChildren();
  if (!file) return;
  button.disabled = true;
  try {
    const picture = await createImageBitmap(file), part = Math.min(1, input.dataset.longest / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
    canvas.width = Math.round(picture.width * part);
    canvas.height = Math.round(picture.height * part);
    pen.imageSmoothingQuality = "high";
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const small = await new Promise(done => canvas.toBlob(done, "image/jpeg", 0.82));
    if (small && (small.size < file.size || !/^image\/(jpeg|png|webp)$/.test(file.type))) {
      const files = new DataTransfer();
      files.items.add(new File([small], "photo.jpg", { type: "image/jpeg" }));
      input.files = files.files;
    }
    canvas.setAttribute("aria-label", "The photo as it is sent");
    canvas.setAttribute("role", "img");
    shown.append(canvas);
  } catch { shown.textContent = "Chosen: " + file.name; }
  button.disabled = false;
}
for (const input of document.querySelectorAll("input[data-longest]")) input.addEventListener("change", () => shrink(input, document.getElementById("shrunk")));

const print = document.getElementById("print");
if (print) { print.hidden = false; print.addEventListener("click", () => window.print()); }
