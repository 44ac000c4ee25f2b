// Elements of a drawing.
function drawn(name, attributes = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

// The outlines that all systems share.
function glyphStore() {
  const store = drawn("svg", { width: 0, height: 0, "aria-hidden": "true", class: "store" });
  const list = drawn("defs");
  DATA.glyphs.forEach((path, n) => list.append(drawn("path", { id: `glyph-${n}`, d: path })));
  store.append(list);
  return store;
}

// Number, x and y, one after the other.
function inThrees(flat, draw) {
  const found = [];
  for (let n = 0; n < flat.length; n += 3) found.push(draw(flat[n], flat[n + 1], flat[n + 2]));
  return found;
}

const glyphs = (flat) => inThrees(flat, (number, x, y) => drawn("use", { href: `#glyph-${number}`, x, y }));

// Words as wide as they were engraved, whatever letters the device has.
const words = (flat) => inThrees(flat, (number, x, y) => {
  const [text, size, width, cut, kind] = DATA.texts[number];
  return drawn("text", { x, y, "font-size": size, textLength: width, lengthAdjust: "spacingAndGlyphs",
    class: `word ${cut} ${kind}` }, text);
});
