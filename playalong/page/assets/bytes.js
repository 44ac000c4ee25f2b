// The bytes of a sound. They lie inside the page; or beside it in a stylesheet, the one kind of file
// that a page opened from a folder may read, and which can hold data but run nothing.
// Sound inside the page comes after the script, so that the page is ready before it; each is whole
// as soon as something follows it, long before the last one is.
const arrived = (id) => new Promise((done) => {
  const watch = new MutationObserver(look);
  function look() {
    if (document.readyState === "loading" && !byId(id)?.nextSibling) return;
    watch.disconnect();
    done();
  }
  watch.observe(document.body, { childList: true });
  document.addEventListener("DOMContentLoaded", look, { once: true });
  look();
});

// Null where there is none: then the browser may still play the track's own file.
async function bytesOf(name) {
  const [id] = DATA.inside[name] ?? [];
  if (id) await arrived(id);
  const text = id ? byId(id).textContent : await textBeside(name);
  if (text === null) return null;
  return Uint8Array.fromBase64?.(text) ?? Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

// One at a time, since each sets the same properties of the same element.
let lastBeside = Promise.resolve();
function textBeside(name) {
  if (!DATA.beside) return Promise.resolve(null);
  lastBeside = lastBeside.then(() => new Promise((done) => {
    const link = document.createElement("link");
    const finish = (text) => { link.remove(); done(text); };
    link.addEventListener("error", () => finish(null));
    link.addEventListener("load", () => {
      const style = getComputedStyle(byId("carrier"));
      const property = (what) => style.getPropertyValue(`--${what}`).trim().replaceAll('"', "");
      const pieces = Array.from({ length: Number(property("pieces")) }, (_, n) => property(`piece-${n}`));
      finish(pieces.join("") || null);
    });
    link.rel = "stylesheet";
    link.href = address(DATA.beside.replace("*", name));
    document.head.append(link);
  }));
  return lastBeside;
}

const address = (name) => name.split("/").map(encodeURIComponent).join("/");
