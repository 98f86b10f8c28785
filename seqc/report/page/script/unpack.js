/* Blocks of data stay packed until they are first looked at; then they are kept. */
const Blocks = (() => {
  "use strict";
  const kept = new Map();

  async function unpack(text) {
    const bytes = Uint8Array.from(atob(text.trim()), (sign) => sign.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return JSON.parse(await new Response(stream).text());
  }

  function get(name) {
    if (!kept.has(name)) {
      kept.set(name, unpack(document.getElementById(`block-${name}`).textContent));
    }
    return kept.get(name);
  }

  return { get, forget: () => kept.clear(), count: () => kept.size };
})();
