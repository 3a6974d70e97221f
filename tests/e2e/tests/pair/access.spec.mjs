// People from outside: an owner who reads the record by a link, and an inspector who is a guest on one job.

import { ready } from "../../support/app.mjs";
import { accessible } from "../../support/axe.mjs";
import { desk, phone } from "../../support/browser.mjs";
import { allSent, signIn } from "../../support/people.mjs";
import { expect, test } from "../../support/server.mjs";
import { openStep } from "../../support/work.mjs";

const FLANGE = "Re-glass the torn attach flange";

test.describe.configure({ timeout: 240_000 });

test("an owner reads the record by a link until it is revoked", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [office, home] = [await browser.newContext(desk), await browser.newContext(phone)];
  const [lead, owner] = [await office.newPage(), await home.newPage()];
  try {
    await signIn(lead, server.url, "lead");
    await allSent(lead);
    await openAccess(lead);
    await expect(lead.getByText("None yet.")).toBeVisible();
    await accessible(lead);

    // Without a network it says so, and nothing is made.
    await office.setOffline(true);
    await lead.getByRole("button", { name: "Make a link" }).click();
    const sheet = lead.locator("dialog[open]");
    await sheet.getByLabel("For whom").fill("The owner");
    await sheet.getByRole("button", { name: "Make the link" }).click();
    await expect(sheet.getByText("This one thing needs a connection")).toBeVisible();
    await office.setOffline(false);
    await sheet.getByRole("button", { name: "Make the link" }).click();
    await expect(sheet.getByRole("img", { name: "Link to the record as a QR code" })).toBeVisible();
    const link = await sheet.locator("p.figures").textContent();
    expect(link).toMatch(/\/open#[A-Za-z0-9_-]{43}$/);
    await accessible(lead);
    await lead.keyboard.press("Escape");
    const line = lead.locator(".lines li", { hasText: "The owner" });
    await expect(line.getByText("open", { exact: true })).toBeVisible();

    // The secret stays in the browser; the record is there without an account.
    const asked = [];
    owner.on("request", (request) => asked.push(request.url()));
    await owner.goto(link);
    await owner.waitForURL("**/record/*/*?link");
    await expect(owner.locator(".record h1")).toContainText(FLANGE);
    await expect(owner.getByRole("link", { name: "Open in the app" })).toHaveCount(0);
    const secret = link.split("#")[1];
    expect(asked.filter((url) => new URL(url).pathname.includes(secret) || new URL(url).search.includes(secret))).toEqual([]);
    const photo = owner.locator(".record img").first();
    await photo.scrollIntoViewIfNeeded();
    await expect.poll(() => photo.evaluate((image) => image.naturalWidth)).toBeGreaterThan(0);
    const record = owner.url();

    // Nothing else of the shop is.
    await owner.goto(record.replace("/record/", "/jobs/"));
    await expect(owner.getByRole("heading", { name: "Sign in" })).toBeVisible();

    // Revoked after a question, and out at once.
    await line.getByRole("button", { name: "Revoke “The owner”" }).click();
    await sheet.getByRole("button", { name: "Keep it" }).click();
    await expect(line.getByText("open", { exact: true })).toBeVisible();
    await line.getByRole("button", { name: "Revoke “The owner”" }).click();
    await accessible(lead);
    await sheet.getByRole("button", { name: "Revoke it" }).click();
    await expect(line.getByText("revoked", { exact: true })).toBeVisible();
    await owner.goto(record);
    await expect(owner.getByText("This page opens by a link")).toBeVisible();
    await accessible(owner);
    await owner.goto(link);
    await expect(owner.getByText("This link no longer holds")).toBeVisible();
    await accessible(owner);
  } finally {
    await office.close();
    await home.close();
  }
});

test("a link that can't be asked about is asked about again", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const home = await browser.newContext(phone);
  const owner = await home.newPage();
  try {
    await home.route("**/api/v1/links/open", (route) => route.abort());
    await owner.goto(`${server.url}/open#${"x".repeat(43)}`);
    await expect(owner.getByText("The server can't be reached")).toBeVisible();
    await home.unroute("**/api/v1/links/open");
    await owner.getByRole("button", { name: "Try again" }).click();
    await expect(owner.getByText("This link no longer holds")).toBeVisible();
  } finally {
    await home.close();
  }
});

test("somebody with an account takes an invitation to one job up, and is let out again", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [office, outside] = [await browser.newContext(desk), await browser.newContext(phone)];
  const [lead, guest] = [await office.newPage(), await outside.newPage()];
  try {
    await signIn(lead, server.url, "lead");
    await allSent(lead);
    await openAccess(lead);
    const first = await invite(lead, "Inspector from outside");
    await accessible(lead);

    // A new account, by the first invitation.
    await guest.goto(first);
    await ready(guest);
    await expect(guest.getByText("on one job of this shop")).toBeVisible();
    await guest.getByLabel("Your name, as others see it").fill("Guest inspector");
    await guest.getByLabel("Sign-in name").fill("guest.inspector");
    await guest.getByLabel("Password").fill("a sentence for the tests");
    await guest.getByRole("button", { name: "Join", exact: true }).click();
    await guest.waitForURL("**/jobs");
    await expect(guest.locator(".job-card")).toHaveCount(1);
    await expect(guest.locator(".job-card", { hasText: FLANGE })).toBeVisible();

    // A second one, taken up by whoever is signed in already.
    const guestLine = lead.locator(".lines li", { hasText: "Guest inspector" });
    await expect(guestLine.getByText("inspector", { exact: true })).toBeVisible();
    const second = await invite(lead, "The same, for longer", "90 days");
    await guest.goto(second);
    await ready(guest);
    await expect(guest.getByText("Do you want to join with this account?")).toBeVisible();
    await accessible(guest);
    await guest.getByRole("button", { name: "Join with this account" }).click();
    await guest.waitForURL("**/jobs/*/*");
    await expect(guest.locator("main h1", { hasText: FLANGE })).toBeVisible();
    await expect(guestLine.getByText(/inspector, until/)).toBeVisible();

    // Ended by the lead, with a way back.
    await guestLine.getByRole("button", { name: "End Guest inspector’s access" }).click();
    await expect(guestLine).toHaveCount(0);
    await lead.getByRole("button", { name: "Undo" }).first().click();
    await expect(guestLine).toHaveCount(1);
  } finally {
    await office.close();
    await outside.close();
  }
});

test("an inspector from outside decides, and people have names on both sides", async ({ browser, freshServer }) => {
  const server = await freshServer({ demo: true });
  const [office, hangar, outside] = [await browser.newContext(desk), await browser.newContext(phone), await browser.newContext(desk)];
  const [lead, mechanic, guest] = [await office.newPage(), await hangar.newPage(), await outside.newPage()];
  try {
    await signIn(lead, server.url, "lead");
    await allSent(lead);
    await openAccess(lead);
    const link = await invite(lead, "Inspector from outside");
    await guest.goto(link);
    await ready(guest);
    await guest.getByLabel("Your name, as others see it").fill("Guest inspector");
    await guest.getByLabel("Sign-in name").fill("guest.inspector");
    await guest.getByLabel("Password").fill("a sentence for the tests");
    await guest.getByRole("button", { name: "Join", exact: true }).click();
    await guest.waitForURL("**/jobs");
    await allSent(guest);

    // A guest can't read the shop's log, and is told who of the shop worked on this job.
    await guest.getByRole("link", { name: /^Inspection/ }).click();
    await guest.waitForURL("**/inspect");
    const card = guest.locator("main a.card", { hasText: "Deburr and clean the holes" });
    await expect(card.getByText(/offered by Mechanic/)).toBeVisible();
    await card.click();
    await guest.waitForURL("**/inspect/**/**/**");
    await expect(guest.getByText(/Offered by Mechanic/)).toBeVisible();
    await expect(guest.locator("main").getByText("somebody")).toHaveCount(0);
    await accessible(guest);
    await guest.getByRole("button", { name: "Return with findings" }).click();
    const sheet = guest.locator("dialog[open]");
    await sheet.getByLabel("Finding 1", { exact: true }).fill("One chip is left.");
    await sheet.getByRole("button", { name: "Return the step" }).click();
    await guest.waitForURL("**/inspect");
    await allSent(guest);

    // The shop's people know the guest's name from the job.
    await signIn(mechanic, server.url, "mechanic");
    await allSent(mechanic);
    await openStep(mechanic, FLANGE, "Deburr and clean the holes");
    await expect(mechanic.getByText("One chip is left.")).toBeVisible();
    await expect(mechanic.getByText(/Returned by Guest inspector/)).toBeVisible();
  } finally {
    await office.close();
    await hangar.close();
    await outside.close();
  }
});

/** Goes from the list to the guests and links of the demo's job. */
async function openAccess(page) {
  await page.locator("main a[href*='/jobs/']", { hasText: FLANGE }).first().click();
  await page.waitForURL("**/jobs/*/*");
  await page.getByRole("link", { name: "Guests and links" }).click();
  await page.waitForURL("**/access");
  await expect(page.getByRole("heading", { name: "Links to the record" })).toBeVisible();
}

/** Invites an inspector to the job that is shown; the invitation's link. */
async function invite(page, note, holds) {
  await page.getByRole("button", { name: "Invite somebody" }).click();
  const sheet = page.locator("dialog[open]");
  await sheet.getByLabel("For whom").fill(note);
  await expect(sheet.getByLabel(/^inspector/)).toBeChecked();
  if (holds) await sheet.getByLabel("The roles hold").selectOption({ label: holds });
  await sheet.getByRole("button", { name: "Make the invitation" }).click();
  const link = await sheet.locator("p.figures").textContent();
  await page.keyboard.press("Escape");
  await expect(sheet).toBeHidden();
  return link;
}
