/* Brings the page to life, and again whenever it is made anew in place. */
const App = (() => {
  "use strict";
  let model = null, player = null, chosen = null;

  async function choose(name, time = null) {
    const entry = model.scenes.find((scene) => scene.name === name);
    if (!entry) return;
    const scene = new Scene(model, entry, await Blocks.get(entry.block));
    chosen = name;
    document.getElementById("scene").value = name;
    for (const button of document.querySelectorAll("[data-scene]")) {
      button.setAttribute("aria-pressed", String(button.dataset.scene === name));
    }
    player.pause();
    player.load(scene, time);
  }

  function listen() {
    document.getElementById("scene").addEventListener("change", (event) => choose(event.target.value));
    for (const button of document.querySelectorAll("[data-scene]")) {
      button.addEventListener("click", async () => {
        await choose(button.dataset.scene);
        document.getElementById("when").scrollIntoView({ block: "start" });
        document.getElementById("player").focus({ preventScroll: true });
      });
    }
  }

  /* Where one looks: what is chosen, when, and how; by names, since numbers may change. */
  function look() {
    if (!player?.scene) return null;
    const { title, group } = player.scene.entry;
    const { root, time, playing } = player;
    const values = [...root.querySelectorAll("select[data-part], input[data-part=all]")];
    return { title, group, time, playing, kept: values.map((one) => one.checked ?? one.value),
      open: [...document.querySelectorAll("details")].map((one) => one.open) };
  }

  async function start(before = null) {
    Blocks.forget();
    const root = document.getElementById("player");
    if (!root) return;
    model = await Blocks.get("model");
    followCells(model);
    player = new Player(model, root);
    listen();
    const scenes = model.scenes;
    const same = before && scenes.find((one) => one.title === before.title && one.group === before.group);
    if (before) restore(before, root);
    const first = same ?? scenes[0];
    if (first) await choose(first.name, same ? before.time : null);
    if (same && before.playing) player.play();
  }

  function restore(before, root) {
    [...root.querySelectorAll("select[data-part], input[data-part=all]")].forEach((one, n) => {
      if (one.type === "checkbox") one.checked = before.kept[n];
      else one.value = before.kept[n] ?? one.value;
    });
    [...document.querySelectorAll("details")].forEach((one, n) => { one.open = before.open[n] ?? one.open; });
  }

  return {
    start, look, choose,
    get player() { return player; },
    get model() { return model; },
    get chosen() { return chosen; },
  };
})();

/* A browser that can't unpack the data shows the page as one without scripts does. */
if ("DecompressionStream" in window) {
  document.documentElement.classList.add("scripted");
  document.addEventListener("DOMContentLoaded", () => App.start());
}
