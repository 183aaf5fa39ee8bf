// The page that draws every part: pictures, accessibility, no sideways scrolling down to 320 px, a visible focus.
import { accessible, picture } from "./look.mjs";
import { expect, test } from "./test.mjs";

for (const [path, name] of [["/style", "style"], ["/style/bench", "style-bench"]]) {
  test(`every part of ${path} is drawn, reachable and readable`, async ({ desk }) => {
    await desk.goto(path);
    await expect(desk.getByRole("heading", { level: 1 })).toBeVisible();
    await picture(desk, name);
    for (const colours of ["light", "dark"]) {
      await desk.emulateMedia({ colorScheme: colours });
      await accessible(desk, `${name}, ${colours}`);
    }
    for (const width of [320, 640]) {
      await desk.setViewportSize({ width, height: 800 });
      const wide = await desk.locator("html").evaluate((html) => html.scrollWidth);
      expect(wide, `${path} at ${width} px`).toBeLessThanOrEqual(width);
    }
    expect(desk.complaints).toEqual([]);
  });
}

test("whoever moves by key sees where they are", async ({ desk }) => {
  await desk.goto("/style");
  await desk.locator("main").focus();
  for (let i = 0; i < 25; i += 1) {
    await desk.keyboard.press("Tab");
    const ring = await desk.evaluate(() => {
      const at = document.activeElement;
      const seen = [at, at.closest(".pick-card")].filter(Boolean).map((one) => getComputedStyle(one));
      return { what: at.outerHTML.slice(0, 80), ringed: seen.some((look) => look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2) };
    });
    expect(ring.ringed, ring.what).toBe(true);
  }
});

test("touch targets at the bench are at least 60 px high", async ({ desk }) => {
  await desk.goto("/style/bench");
  const small = await desk.evaluate(() =>
    [...document.querySelectorAll("a, button, input")]
      .filter((one) => !one.closest("footer, .skip"))
      .map((one) => [one.outerHTML.slice(0, 60), (one.closest("label") ?? one).getBoundingClientRect().height])
      .filter(([, height]) => height < 60),
  );
  expect(small).toEqual([]);
});
