// Somebody who works with a keyboard and nothing else: Tab from thing to thing, Enter and the space bar to press.
import { expect } from "@playwright/test";

/** More presses of Tab than any page has things to reach. */
const MOST_TABS = 250;

/** What has the focus now: whether it is what is looked for, whether it is seen, whether it comes after what had it before. */
function look([wanted, before]) {
  const at = document.activeElement;
  // Pages that others change are brought up to date while somebody is on them.
  if (!wanted.isConnected) return { gone: true };
  if (!at || at === document.body) return { nowhere: true };
  // Of a group of choices Tab reaches one; arrows move within.
  const there = wanted === at || (wanted.type === "radio" && wanted.name === at.name);
  // The ring is drawn around the thing, around the card it is the button of, or around its bar in the drawing of the plan.
  const around = [at, at.closest(".pick-card"), at.querySelector(":scope > .run, :scope > text:only-child")].filter(Boolean);
  const ringed = around.some((one) => {
    const style = getComputedStyle(one);
    return (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2) || (one.matches(".run") && parseFloat(style.strokeWidth) >= 3);
  });
  const box = (at.closest(".pick-card") ?? at).getBoundingClientRect();
  const inSight = box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth && box.width > 0;
  const last = globalThis.lastFocus;
  const onwards = !before || !last?.isConnected || last === at || Boolean(last.compareDocumentPosition(at) & Node.DOCUMENT_POSITION_FOLLOWING);
  globalThis.lastFocus = at;
  return { there, what: at.outerHTML.slice(0, 120), ringed, inSight, onwards };
}

/** Goes on by Tab until `locator` has the focus; fails where the focus is not seen, or does not go on. */
export async function reach(locator) {
  const page = locator.page();
  let wanted = await locator.elementHandle();
  let now = await page.evaluate(look, [wanted, false]);
  let rounds = 0;
  for (let tabs = 0; tabs < MOST_TABS && !now.there; tabs++) {
    if (now.gone) wanted = await locator.elementHandle();
    const before = !now.nowhere && !now.gone;
    await page.keyboard.press("Tab");
    now = await page.evaluate(look, [wanted, before]);
    if (now.gone) continue;
    if (!now.nowhere) {
      expect(now.ringed, `no ring around ${now.what}`).toBe(true);
      expect(now.inSight, `out of sight: ${now.what}`).toBe(true);
    }
    // Past the last thing the browser begins again on top: once is in order.
    if (now.nowhere || !now.onwards) rounds += 1;
    if (rounds > 2) break;
  }
  if (!now.there) throw new Error(`the keyboard does not reach ${locator}`);
}

export const keyboard = {
  press: async (locator) => {
    await reach(locator);
    await locator.page().keyboard.press("Enter");
  },
  tick: async (locator) => {
    await reach(locator);
    await locator.page().keyboard.press("Space");
  },
  type: async (locator, text) => {
    await reach(locator);
    await locator.page().keyboard.press("ControlOrMeta+A");
    await locator.page().keyboard.type(text);
  },
};

/** A refused form has the focus on the first field that is wrong, or on the line above the form that leads there. */
export async function expectFirstBadFocused(page) {
  const bad = page.locator("[aria-invalid=true]").first();
  await expect(bad).toBeVisible();
  const said = page.locator(".summary a").first();
  if (await said.count()) {
    await expect(said).toBeFocused();
    await page.keyboard.press("Enter");
  }
  await expect(bad).toBeFocused();
}
