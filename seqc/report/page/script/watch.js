/* A watched page is made anew in place when its server says so; findings stand above it meanwhile. */
(() => {
  "use strict";
  const told = () => document.getElementById("watched");

  async function remake() {
    const before = App.look();
    const scroll = window.scrollY;
    const focused = document.activeElement?.id;
    const answer = await fetch("page", { cache: "no-store" });
    const next = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.title = next.title;
    document.documentElement.dataset.made = next.documentElement.dataset.made ?? "";
    document.getElementById("main").replaceWith(document.adoptNode(next.getElementById("main")));
    document.querySelectorAll("nav, .skip").forEach((old) => old.remove());
    const above = [...next.querySelectorAll(".skip, nav")].map((one) => document.adoptNode(one));
    document.body.prepend(...above);
    document.querySelectorAll('[id^="block-"]').forEach((block) => block.remove());
    for (const block of next.querySelectorAll('[id^="block-"]')) {
      document.body.append(document.adoptNode(block));
    }
    await App.start(before);
    window.scrollTo({ top: scroll, behavior: "instant" });
    if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  }

  const events = new EventSource("events");
  events.addEventListener("made", async (event) => {
    told().replaceChildren();
    if (document.documentElement.dataset.made !== event.data) await remake();
  });
  events.addEventListener("working", () => say("working", "The file was saved: working it out anew."));
  events.addEventListener("findings", (event) => {
    const { html } = JSON.parse(event.data);
    say("wrong", "The file is wrong as it stands. Below is what it was before.");
    const list = new DOMParser().parseFromString(html, "text/html").querySelector(".findings");
    if (list) told().append(document.adoptNode(list));
  });
  events.addEventListener("error", () => say("away", "The watch has ended; this page stays as it is."));
  events.addEventListener("open", () => { if (told().dataset.state === "away") told().replaceChildren(); });

  function say(state, words) {
    told().replaceChildren();
    told().dataset.state = state;
    make(told(), "p", { class: "strong" }, words);
  }
})();
