// Wakes the islands of a page for staff: fetches their program once the page stands and the browser has nothing else to do,
// so that it holds up no first line. Until then, and without it, everything is a plain form.
(() => {
  const { app } = document.currentScript.dataset;
  async function wake() {
    const islands = document.querySelectorAll("leptos-island");
    if (islands.length === 0) return;
    const program = await import(`${app}.js`);
    await program.default({ module_or_path: `${app}_bg.wasm` });
    program.hydrate();
    for (const island of islands) await program[island.dataset.component]?.(island);
  }
  const whenIdle = () => ("requestIdleCallback" in window ? requestIdleCallback(wake, { timeout: 2000 }) : wake());
  if (document.readyState === "complete") whenIdle();
  else addEventListener("load", whenIdle, { once: true });
})();
