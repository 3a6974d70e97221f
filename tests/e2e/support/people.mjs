// The demo's people, on devices of their own.

import { offlineReady, ready } from "./app.mjs";

/** Everyone's password in the demo. */
export const PASSWORD = "faying-demo-hangar";

/** Signs in and waits until the app works without a network. */
export async function signIn(page, url, login) {
  await page.goto(`${url}/sign-in`);
  await ready(page);
  await page.getByLabel("Sign-in name").fill(login);
  await page.getByLabel("Password").fill(PASSWORD);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.waitForURL("**/jobs");
  await offlineReady(page);
}

/** Until everything on this device is on the server. */
export async function allSent(page) {
  await page.locator(".sync-line[data-state=calm]").waitFor();
}
