// The journeys by keyboard alone: after every press of Tab the focus is seen, in sight and further on; a refused form puts it
// on the first field that is wrong.
import { book, inspect, receive, referenceOf } from "./day.mjs";
import { CUSTOMER, knife } from "./customer.mjs";
import { expectFirstBadFocused, keyboard, reach } from "./keyboard.mjs";
import { DESK } from "./look.mjs";
import { linkIn } from "./mailbox.mjs";
import { MORNING, Shop } from "./shop.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

test("a customer books, confirms and agrees to a price by keyboard", async ({ shop, desk, person }) => {
  const { press, tick, type } = keyboard;
  await test.step("the first Tab offers to skip to the page itself", async () => {
    await desk.goto("/");
    await desk.keyboard.press("Tab");
    await expect(desk.locator(".skip")).toBeFocused();
    await expect(desk.locator(".skip")).toBeInViewport({ ratio: 1 });
    await desk.keyboard.press("Enter");
    await expect(desk.locator("main")).toBeFocused();
    await press(desk.getByRole("link", { name: "Book a sharpening" }));
    await expect(desk.getByRole("heading", { level: 1 })).toHaveText("Book a sharpening");
  });
  await test.step("a knife is described, and the form with a wrong address comes back to it", async () => {
    const one = knife(desk, 1);
    await tick(one.getByLabel("DN-21"));
    await expect(one.getByLabel("DN-21")).toBeChecked();
    await tick(one.getByLabel("Dull"));
    await tick(desk.getByLabel("I have read how to pack a blade"));
    await type(desk.getByLabel("Name", { exact: true }), CUSTOMER.name);
    await type(desk.getByLabel("Mail address"), "nobody at all");
    await type(desk.getByLabel("Street and number"), CUSTOMER.street);
    await type(desk.getByLabel("Postal code"), CUSTOMER.postcode);
    await type(desk.getByLabel("Town"), CUSTOMER.town);
    await type(desk.getByLabel("Country"), CUSTOMER.country);
    await tick(desk.getByLabel(/Please begin before the time/));
    await press(desk.getByRole("button", { name: "Book it" }));
    await expect(desk.getByLabel("Mail address")).toHaveAttribute("aria-invalid", "true");
    await expectFirstBadFocused(desk);
    await type(desk.getByLabel("Mail address"), CUSTOMER.email);
    await press(desk.getByRole("button", { name: "Book it" }));
    await expect(desk.getByText("Look into your mail")).toBeVisible();
  });
  await test.step("it is confirmed on the page the mail leads to", async () => {
    await desk.goto(linkIn(await shop.mailbox.one(CUSTOMER.email, /./), /^\/v\//));
    const confirm = desk.getByRole("button", { name: "Confirm my booking" });
    await press(confirm);
    await expect(confirm).toHaveCount(0);
  });
  await test.step("a price that is higher than booked is agreed to", async () => {
    const staff = await person(DESK);
    await signIn(staff, hire(shop, "mara", "Mara Holt"));
    const customer = await book(shop, "Ines Boto", [{ mark: "Another make", make: "Other Make", edge: "double", length: "190", steel: "1.4116" }]);
    const [tag] = await receive(staff, await referenceOf(shop, customer));
    await inspect(staff, tag, { "Height, middle": "44", Spine: "2.2", "Behind the edge": "0.35", Angle: "15" }, { chip: "3.1" });
    // A question waits a quarter of an hour for the visit's other knives.
    shop.setClock(new Date(MORNING.getTime() + 20 * 60_000));
    await desk.goto(linkIn(await shop.mailbox.one(customer.email, /^Your answer, please/), /^\/v\//));
    const yes = desk.getByRole("button", { name: /^Yes/ });
    await press(yes);
    await expect(yes).toHaveCount(0);
  });
  expect(desk.complaints).toEqual([]);
});

// Weeks behind it, so that something is ready to be handed back.
const lived = test.extend({
  shop: async ({}, use) => {
    const shop = await Shop.open({ history: true });
    await use(shop);
    await shop.close();
  },
});

lived("the shop receives, measures, plans, works, hands back and sets its prices by keyboard", async ({ shop, desk }) => {
  const { press, type } = keyboard;
  const go = async (place) => {
    await press(desk.getByRole("navigation", { name: "Places" }).getByRole("link", { name: place }));
    await expect(desk.getByRole("navigation", { name: "Places" }).getByRole("link", { name: place })).toHaveAttribute("aria-current", "page");
  };
  const reference = await referenceOf(shop, await book(shop, "Ines Boto", [{ mark: "DN-21" }]));
  await test.step("signs in", async () => {
    const who = hire(shop, "mara", "Mara Holt");
    await desk.goto("/desk");
    await expect(desk.getByLabel("Name")).toBeFocused();
    await type(desk.getByLabel("Name"), who.signInName);
    await type(desk.getByLabel("Password", { exact: true }), who.password);
    await press(desk.getByRole("button", { name: "Sign in" }));
    await expect(desk.getByLabel("Present password")).toBeVisible();
    await type(desk.getByLabel("Present password"), who.password);
    await type(desk.getByLabel("New password", { exact: true }), "seven quiet wet stones");
    await type(desk.getByLabel("New password, once more"), "seven quiet wet stones");
    await press(desk.getByRole("button", { name: "Change the password" }));
    await expect(desk.getByText("Your password is changed")).toBeVisible();
  });
  await test.step("receives by the reference and measures", async () => {
    await go("Desk");
    await expect(desk.getByLabel("Tag or reference")).toBeFocused();
    await type(desk.getByLabel("Tag or reference"), reference);
    await desk.keyboard.press("Enter");
    await expect(desk.getByRole("heading", { level: 1 })).toContainText(reference);
    await press(desk.getByRole("button", { name: "All are here" }));
    await expect(desk.getByText("Received. The customer is told")).toBeVisible();
    await press(desk.getByRole("link", { name: "Measure", exact: true }));
    await expect(desk.getByLabel("Height, middle")).toBeFocused();
    await press(desk.getByRole("button", { name: "Save the sheet" }));
    await expectFirstBadFocused(desk);
    await type(desk.getByLabel("Height, middle"), "36,4");
    await type(desk.getByLabel("Behind the edge").first(), "0.42");
    await press(desk.getByRole("button", { name: "Save the sheet" }));
    await expect(desk.getByRole("article").first()).toContainText(/agreed|in line/);
  });
  await test.step("finds a piece on the drawing of the plan", async () => {
    await go("Plan");
    await press(desk.locator(".plan-drawing a:has(.run)").first());
    await expect(desk.getByRole("heading", { name: "Why it stands where it stands" })).toBeVisible();
  });
  await test.step("does a step at the bench", async () => {
    await go("Bench");
    await press(desk.getByRole("link", { name: /^My next run/ }));
    await expect(desk.getByRole("button", { name: /^Start / }).first()).toBeVisible();
    await press(desk.getByRole("button", { name: /^Start / }).first());
    await expect(desk.locator(".piece-in-hand")).toHaveCount(1);
    await press(desk.locator(".piece-in-hand").getByRole("button", { name: "Done", exact: true }));
    await expect(desk.locator(".piece-in-hand")).toHaveCount(0);
  });
  await test.step("hands back what is ready", async () => {
    await go("Desk");
    await press(desk.locator("section", { has: desk.getByRole("heading", { name: "To hand back or send" }) }).getByRole("link").first());
    await expect(desk.getByRole("heading", { level: 1 })).toContainText("Hand back");
    for (const ready of await desk.getByRole("checkbox").all()) await keyboard.tick(ready);
    await reach(desk.getByLabel("Over the counter"));
    await desk.keyboard.press("ArrowUp");
    await expect(desk.getByLabel("Over the counter")).toBeChecked();
    await press(desk.getByRole("button", { name: "Hand back" }));
    await expectFirstBadFocused(desk);
  });
  await test.step("sets a price, wrongly at first", async () => {
    await go("Shop");
    await press(desk.getByRole("navigation", { name: "Shop" }).getByRole("link", { name: "Prices" }));
    const tax = desk.getByLabel("Tax contained in all prices");
    await expect(tax).toBeVisible();
    await type(tax, "much");
    await press(desk.getByRole("button", { name: "Save the prices" }));
    await expectFirstBadFocused(desk);
    await type(tax, "22");
    await press(desk.getByRole("button", { name: "Save the prices" }));
    await expect(tax).toHaveValue("22");
    await expect(desk.locator("[aria-invalid=true]")).toHaveCount(0);
  });
  expect(desk.complaints).toEqual([]);
});
