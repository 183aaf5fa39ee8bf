// What a customer does, in their words.
import { expect } from "@playwright/test";
import { linkIn } from "./mailbox.mjs";

/** Somebody invented. */
export const CUSTOMER = {
  name: "Jörg Lindqvist",
  email: "jorg.lindqvist@example.com",
  street: "Fährweg 3",
  postcode: "24321",
  town: "Lütjenau",
  country: "Germany",
};

/** The part of the booking form about one knife. */
export const knife = (page, n) => page.getByRole("group", { name: `Knife ${n}`, exact: true });

/** Picks an answer as a finger does: on its words, since the button itself may be drawn over. */
export async function pick(within, words) {
  await within.locator("label").filter({ hasText: words }).first().click();
}

/** Fills in who they are, how the knives travel, and what has to be read first. */
export async function sayWhoAndHow(page, person) {
  const arrival = page.getByRole("group", { name: "Arrival" });
  await pick(arrival, "By post");
  await page.getByLabel("I have read how to pack a blade").check();
  await pick(page.getByRole("group", { name: "Way back" }), "By post");
  await page.getByLabel("What are they worth together?").fill("180");
  await page.getByLabel("Name", { exact: true }).fill(person.name);
  await page.getByLabel("Mail address").fill(person.email);
  await page.getByLabel("Street and number").fill(person.street);
  await page.getByLabel("Postal code").fill(person.postcode);
  await page.getByLabel("Town").fill(person.town);
  await page.getByLabel("Country").fill(person.country);
  await page.getByLabel(/Please begin before the time for withdrawal/).check();
}

/** Opens the private page from the mail and confirms there that it was them. */
export async function confirmByMail(page, mailbox, person, reference) {
  const mail = await mailbox.one(person.email, /./);
  expect(mail.text).toContain(reference);
  await page.goto(linkIn(mail, /^\/v\//));
  await page.getByRole("button", { name: "Confirm my booking" }).click();
  return page.url();
}
