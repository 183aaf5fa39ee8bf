// The customer's side: in German on a telephone, what the booking page weighs, a draft that waits, questions and answers,
// all knives by a link that opens once. Once with scripts, the first part once more with plain forms only.
import { randomBytes } from "node:crypto";
import { PHONE, accessible, complaintsOf, picture } from "./look.mjs";
import { linkIn } from "./mailbox.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

/** All a phone loads for the booking page, with the headers, in the language with the phrase book. */
const MOST_KB = 150;
const PERSON = { name: "Jana Öhler", email: "jana.oehler@example.org" };

/** A telephone that asks for German. */
async function telephone(browser, shop, scripts) {
  const context = await browser.newContext({
    baseURL: shop.url, viewport: PHONE, locale: "de-DE", timezoneId: "Europe/Berlin", javaScriptEnabled: scripts, isMobile: true, hasTouch: true,
  });
  const page = await context.newPage();
  page.complaints = complaintsOf(page);
  return page;
}

const pick = (within, words) => within.locator("label").filter({ hasText: words }).first().click();

async function describe(page) {
  const one = page.getByRole("group", { name: "Messer 1", exact: true });
  await pick(one, "Anderes Fabrikat");
  await pick(one, "glatt, beidseitig geschliffen");
  await one.getByLabel("Länge der Schneide").fill("210");
  await one.getByLabel("Stumpf").check();
  return one;
}

async function book(page) {
  await pick(page.getByRole("group", { name: "Ankunft" }), "Mit der Post");
  await page.getByLabel("Ich habe gelesen, wie eine Klinge verpackt wird").check();
  await pick(page.getByRole("group", { name: "Rückweg" }), "Sie holen sie ab");
  await page.getByLabel("Name", { exact: true }).fill(PERSON.name);
  await page.getByLabel("Mailadresse").fill(PERSON.email);
  await page.getByRole("button", { name: "Buchen", exact: true }).click();
  await expect(page.getByText("Sehen Sie in Ihre Post")).toBeVisible();
}

for (const scripts of [true, false]) {
  test(`a German customer books, asks and is answered, ${scripts ? "with" : "without"} scripts`, async ({ browser, shop, desk }) => {
    const look = async (page, name) => {
      await picture(page, scripts ? name : `${name}-plain`);
      if (scripts) await accessible(page, name);
    };
    const phone = await telephone(browser, shop, scripts);
    await phone.goto("/");
    await look(phone, "de-home");
    await phone.goto("/book");
    const one = await describe(phone);
    if (scripts) await expect(one.getByText("Schneidet es wie zuvor?")).toBeVisible();
    // A length in inches: how it was understood stands beside it, at once or once it was sent.
    await one.getByLabel("Länge der Schneide").fill("8 1/4 in");
    if (scripts) await expect(one.getByText("209,55 mm")).toBeVisible();
    await phone.getByRole("button", { name: "Schätzung zeigen" }).last().click();
    await expect(one.getByText("Wie oft geht das noch?")).toBeVisible();
    await expect(one.getByText("209,55 mm")).toBeVisible();
    await expect(one.locator(".drawing").getByText(/^0,\d\d mm hinter der Schneide$/)).toBeVisible();
    await look(phone, "de-book");
    await book(phone);
    const mail = await shop.mailbox.one(PERSON.email, /Bitte bestätigen/);
    await phone.goto(linkIn(mail, /^\/v\//));
    await phone.getByRole("button", { name: "Meine Buchung bestätigen" }).click();
    await phone.getByLabel("Ihre Frage oder Ihre Antwort").fill("Darf noch ein zweites Messer mit in das Paket?");
    await phone.getByRole("button", { name: "An die Werkstatt schicken" }).click();
    await expect(phone.getByText("Wir schreiben, sobald wir eine Antwort haben.")).toBeVisible();
    await look(phone, "de-visit");

    const who = hire(shop, "mara", "Mara Holt");
    await signIn(desk, who);
    await desk.goto("/desk");
    await desk.getByText("a question of the customer").first().waitFor();
    await desk.locator("#reply ~ ul a, section:has(#reply) a").first().click();
    await desk.getByLabel("Your answer").fill("Gern, legen Sie einen Zettel dazu.");
    await desk.getByRole("button", { name: "Send it by mail" }).click();
    const answer = await shop.mailbox.one(PERSON.email, /Unsere Antwort/);
    expect(answer.text).toContain("legen Sie einen Zettel dazu");
    await phone.goto(linkIn(answer, /^\/v\//));
    await expect(phone.getByText("Gern, legen Sie einen Zettel dazu.")).toBeVisible();

    // Another language, from here on.
    await phone.getByRole("button", { name: "English", exact: true }).click();
    await expect(phone.getByText("Questions and answers")).toBeVisible();
    expect(phone.complaints).toEqual([]);
    await phone.context().close();
  });
}

test("the booking page is light, stands before its program comes, and keeps a draft on the device", async ({ browser, shop }) => {
  const phone = await telephone(browser, shop, true);
  const sizes = new Map();
  const network = await phone.context().newCDPSession(phone);
  await network.send("Network.enable");
  const kinds = new Map();
  network.on("Network.responseReceived", ({ requestId, response }) => kinds.set(requestId, new URL(response.url).pathname));
  network.on("Network.loadingFinished", ({ requestId, encodedDataLength }) => sizes.set(kinds.get(requestId), encodedDataLength));
  let release;
  const held = new Promise((done) => (release = done));
  await phone.route("**/*.wasm", async (route) => {
    await held;
    await route.continue();
  });
  await phone.goto("/book");
  // Everything can be typed while the program is still on its way.
  const one = await describe(phone);
  await expect(one.getByText("Wählen Sie das Messer")).toBeVisible();
  release();
  await expect(one.getByText("Schneidet es wie zuvor?")).toBeVisible();
  await phone.waitForLoadState("networkidle");
  const kilobytes = [...sizes.values()].reduce((sum, n) => sum + n, 0) / 1000;
  console.log(`the booking page: ${kilobytes.toFixed(1)} kB in all`, Object.fromEntries(sizes));
  expect(kilobytes).toBeLessThan(MOST_KB);

  // A picture straight from a camera is made smaller before it leaves.
  const noise = Buffer.from(await phone.evaluate(async () => {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [2400, 400];
    const paint = canvas.getContext("2d");
    const picture = paint.createImageData(canvas.width, canvas.height);
    for (let i = 0; i < picture.data.length; i += 1) picture.data[i] = i % 4 === 3 ? 255 : Math.random() * 256;
    paint.putImageData(picture, 0, 0);
    return canvas.toDataURL("image/png").split(",")[1];
  }), "base64");
  await one.locator("input[type=file]").setInputFiles({ name: "a.png", mimeType: "image/png", buffer: noise });
  await expect.poll(() => one.locator("input[type=file]").evaluate((input) => input.files[0].type)).toBe("image/jpeg");
  expect(await one.locator("input[type=file]").evaluate((input) => input.files[0].size)).toBeLessThan(noise.length);
  // What is no picture is left for the server to name.
  await one.locator("input[type=file]").setInputFiles({ name: "b.png", mimeType: "image/png", buffer: randomBytes(2000) });

  await phone.goto("/book");
  await expect(phone.getByText("Auf diesem Gerät haben Sie eine Buchung begonnen.")).toBeVisible();
  await phone.getByRole("button", { name: "Damit weitermachen" }).click();
  await expect(phone.getByLabel("Länge der Schneide")).toHaveValue("210");
  await book(phone);
  // The words stand before the script under them has run; whoever leaves in between keeps the draft.
  await expect.poll(() => phone.evaluate(() => localStorage.length)).toBe(0);
  await phone.goto("/book");
  await phone.waitForLoadState("networkidle");
  await expect(phone.getByText("Auf diesem Gerät haben Sie eine Buchung begonnen.")).toBeHidden();

  // All knives, by a link that opens once.
  await phone.goto("/link");
  await phone.getByLabel("Die Mailadresse, mit der Sie gebucht haben").fill(PERSON.email);
  await phone.getByRole("button", { name: "Schicken Sie mir einen Link" }).click();
  await shop.mailbox.one(PERSON.email, /neuer Link/);
  expect(phone.complaints).toEqual([]);
  await phone.context().close();
});
