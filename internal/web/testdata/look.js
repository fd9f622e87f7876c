// Says what is wrong with the page for a thumb and for eyes, as a list of lines.
//
// published: WCAG 2.2, success criteria 1.4.10 (reflow) and 2.5.8 (targets of
// 24 px at least); practice: 44 px is the least a thumb hits in a glove, 18 px
// the least that is read at arm's length.
(() => {
  const thumb = 44, letters = 18, drawn = 12, found = new Set();
  const say = (what, e) => found.add(`${what}: <${e.localName}> “${e.textContent.trim().replace(/\s+/g, " ").slice(0, 40)}”`);
  const root = document.documentElement;
  const folds = [...document.querySelectorAll("details:not([open])")];
  for (const d of folds) d.open = true;

  if (root.scrollWidth > root.clientWidth) found.add(`scrolls sideways: ${root.scrollWidth} px wide`);
  for (const e of document.querySelectorAll("main *")) {
    const box = e.getBoundingClientRect();
    if (box.width > 0 && (box.right > root.clientWidth + 1 || box.left < -1) && !e.closest(".beside-drawing, .skip")) say(`sticks out to ${box.right.toFixed(0)} px`, e);
  }
  for (const e of document.querySelectorAll("main *:not(svg *)")) {
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).overflowX === "hidden" && !e.closest(".beside-drawing")) say("is cut off", e);
  }
  for (const e of document.querySelectorAll("a[href], button, select, summary, textarea, .choices label, label.tick, input:not([type=hidden]):not([type=radio]):not([type=checkbox])")) {
    if (e.hidden || e.matches(".skip")) continue;
    const box = (e.querySelector(".hit") || e).getBoundingClientRect();
    if (box.height < thumb || box.width < thumb) say(`${box.width.toFixed(0)} × ${box.height.toFixed(0)} px is too small to tap`, e);
  }
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let t; (t = texts.nextNode());) {
    const e = t.parentElement;
    if (t.data.trim() === "" || e.closest("script, .skip, .beside-drawing, option") || e.getClientRects().length === 0) continue;
    let size = parseFloat(getComputedStyle(e).fontSize), least = letters;
    if (e instanceof SVGElement) {
      size *= e.getScreenCTM().d;
      least = drawn;
    }
    if (size < least - 0.05) say(`letters of ${size.toFixed(1)} px`, e);
  }
  for (const d of folds) d.open = false;
  return [...found];
})()
