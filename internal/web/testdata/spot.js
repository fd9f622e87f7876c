// Finds what a thumb is to tap, brings it to the middle of the screen and says
// where it is; with fold, where to tap first so that it shows.
(kind, text, value) => {
  const named = e => (e.getAttribute("aria-label") || "") + " " + e.textContent.replace(/\s+/g, " ");
  const all = s => [...document.querySelectorAll(s)];
  let e;
  switch (kind) {
    case "link": e = all("a[href]").find(a => named(a).includes(text)); break;
    case "button": {
      const buttons = all("button").filter(b => !b.hidden);
      e = buttons.find(b => b.textContent.trim() === text) || buttons.find(b => named(b).includes(text));
      break;
    }
    case "summary": e = all("summary").find(s => named(s).includes(text)); break;
    case "field": e = all("main [name]").find(f => f.type !== "hidden" && f.name === text && (value === "" || f.value === value)); break;
  }
  if (!e) return { missing: true };
  let fold = null;
  for (let d = e.parentElement; d; d = d.parentElement) {
    if (d.localName === "details" && !d.open && e.parentElement !== d) fold = d.querySelector("summary");
  }
  e = fold || e.querySelector(".hit") || e;
  e.scrollIntoView({ block: "center", behavior: "instant" });
  const box = e.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
  const hit = document.elementFromPoint(x, y);
  const covered = !hit || !(e === hit || e.contains(hit) || hit.contains(e));
  return { x, y, fold: !!fold, kind: e.localName, covered: covered ? (hit ? hit.outerHTML.slice(0, 120) : "nothing") : "" };
}
