// Turns each still picture live when it comes near the window: same specification, with tooltips.
// Runs under a strict Content-Security-Policy: expressions are interpreted, never evaluated as code.
(() => {
  "use strict";
  const NARROW = 600;
  const options = {
    mode: "vega-lite", renderer: "svg", ast: true, actions: false, defaultStyle: false,
    tooltip: { disableDefaultStyle: true },
  };

  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  let data;

  // The data of all pictures stand once in the page; each specification gets those that it names.
  function specification(picture, narrow) {
    data ??= read("data");
    const named = {};
    const spec = read(picture.id + (narrow ? "-narrow" : "-wide"));
    (function gather(part) {
      if (part === null || typeof part !== "object") return;
      if (part.data?.name) named[part.data.name] = data[part.data.name];
      Object.values(part).forEach(gather);
    })(spec);
    return { ...spec, datasets: named };
  }

  async function enliven(picture) {
    const narrow = picture.clientWidth < NARROW;
    const shown = narrow ? "narrow" : "wide";
    if (picture.dataset.shown === shown) return;
    picture.dataset.shown = shown;
    const still = picture.querySelector(".still");
    const live = picture.querySelector(".live");
    try {
      live.classList.remove("off");
      await vegaEmbed(live, specification(picture, narrow), options);
      const drawing = live.querySelector("svg");
      drawing.setAttribute("aria-hidden", "true");
      still.classList.add("off");
    } catch (error) {
      live.classList.add("off");
      still.classList.remove("off");
      console.error(error);
    }
  }

  const pictures = [...document.querySelectorAll(".picture")];
  const seen = new IntersectionObserver((entries) => {
    for (const entry of entries) if (entry.isIntersecting) enliven(entry.target);
  }, { rootMargin: "1200px 0px" });
  pictures.forEach((picture) => seen.observe(picture));
  let waiting;
  window.addEventListener("resize", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => pictures.filter((p) => p.dataset.shown).forEach(enliven), 200);
  });
})();
