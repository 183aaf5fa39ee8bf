// Short ways through what other specs walk on screen: bookings by their form, knives received and measured.
import { expect } from "@playwright/test";

/** Books by the plain form, as a browser without scripts does. Gives what the customer knows: { name, email, page }. */
export async function book(shop, name, knives, { from = "198.51.100.7" } = {}) {
  const headers = { "x-forwarded-for": from };
  const email = `${name.toLowerCase().replace(/\W+/g, ".")}@example.org`;
  const html = await (await fetch(`${shop.url}/book`, { headers })).text();
  const key = html.match(/name="key"[^>]*value="([^"]*)"/)?.[1] ?? html.match(/value="([^"]*)"[^>]*name="key"/)?.[1];
  const model = (mark) => {
    const [before] = html.split(mark);
    return before.match(/.*name="knives\[0\]\[model\]"[^>]*/s)[0].match(/.*value="([^"]+)"/s)[1];
  };
  const body = new FormData();
  const fields = {
    key, arrival: "post", packing: "true", back: "post", refused: "back", name, email, street: "Long Lane 4",
    postcode: "24321", town: "Anytown", country: "Germany", worth: "300", begin_early: "true", do: "book",
  };
  for (const [field, value] of Object.entries(fields)) body.set(field, value);
  knives.forEach(({ mark, ...more }, n) => {
    body.set(`knives[${n}][place]`, String(n));
    if (mark) body.set(`knives[${n}][model]`, model(mark));
    for (const [field, value] of Object.entries({ dull: "true", ...more })) body.set(`knives[${n}][${field}]`, value);
  });
  const answer = await fetch(`${shop.url}/book`, { method: "POST", body, headers, redirect: "manual" });
  const text = await answer.text();
  expect(answer.status, text.replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").slice(0, 3000)).toBe(303);
  return { name, email, page: answer.headers.get("location") };
}

/** The reference of a booking, from its notice. */
export async function referenceOf(shop, { email }) {
  const mail = await shop.mailbox.one(email, /./);
  return mail.text.match(/\b[A-Z0-9]{4}-[A-Z0-9]{4}\b/)[0];
}

/** Opens a visit at the desk and receives it whole; gives the tags in order. */
export async function receive(desk, reference) {
  await desk.goto(`/desk/visit/${reference.replace("-", "")}`);
  await desk.getByRole("button", { name: "All are here" }).click();
  await expect(desk.getByText("Received. The customer is told")).toBeVisible();
  const tags = await desk.getByRole("article").getByRole("link", { name: /^[A-Z0-9]{4}-[A-Z0-9]{2}$/ }).allInnerTexts();
  return tags.map((tag) => tag.trim());
}

/**
 * Measures a piece: opens its sheet by its tag, fills in what was measured, and saves it. `defect` is ticked by its words,
 * `chip` is the depth of one.
 */
export async function inspect(desk, tag, measures, { defect, chip } = {}) {
  await desk.goto("/desk");
  await desk.getByLabel("Tag or reference").fill(tag);
  await desk.getByLabel("Tag or reference").press("Enter");
  await expect(desk.getByRole("heading", { level: 1 })).toContainText("Measure");
  for (const [label, figure] of Object.entries(measures)) await desk.getByLabel(label).first().fill(figure);
  if (defect) {
    await desk.getByText(/^Defects/).click();
    await desk.getByLabel(defect).check();
  }
  if (chip) {
    const one = desk.getByRole("group", { name: "Chip 1" });
    if (!(await one.isVisible())) await desk.locator("details").filter({ hasText: /^Chips/ }).locator("summary").click();
    await one.getByLabel("Depth", { exact: false }).first().fill(chip);
  }
  await desk.getByRole("button", { name: "Save the sheet" }).click();
  await expect(desk.getByRole("article").filter({ hasText: tag })).toBeVisible();
}

/** Everything the shop keeps about the customer of a visit, as they would get it: data.json of the archive. */
export async function everythingOf(desk, reference) {
  const page = await (await desk.request.get(`/shop/customers?reference=${reference}`)).text();
  const archive = await (await desk.request.get(page.match(/\/shop\/customers\/[^"/]+\/export/)[0])).body();
  // The first file of a tar: its name, its length in octal at 124, its bytes from 512 on (POSIX ustar).
  expect(archive.toString("latin1", 0, 9)).toBe("data.json");
  const length = Number.parseInt(archive.toString("latin1", 124, 136), 8);
  return JSON.parse(archive.toString("utf8", 512, 512 + length));
}

/** The rows of a table by its caption, cell by cell, also of one that is folded away. */
export async function rowsOf(page, caption) {
  const table = page.locator("table").filter({ has: page.locator("caption", { hasText: caption }) });
  return await table.locator("tbody tr").evaluateAll((rows) =>
    rows.map((row) => [...row.children].map((cell) => (cell.querySelector(".cell") ?? cell).textContent.trim())),
  );
}

/** An amount of money in minor units. */
export function minor(words) {
  const [, sign, whole, part] = words.replaceAll(",", "").match(/(-|−)?(\d+)\.(\d\d)/);
  return (sign ? -1 : 1) * (Number(whole) * 100 + Number(part));
}
