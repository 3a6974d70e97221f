// What axe finds wrong with a page, held against WCAG 2.2 A and AA and axe's best practice.

import { AxeBuilder } from "@axe-core/playwright";
import { expect } from "@playwright/test";

const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/** @returns {Promise<string[]>} each fault with its place */
export async function faults(page) {
  const { violations } = await new AxeBuilder({ page }).withTags(RULES).analyze();
  return violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id} at ${target.join(" ")}`));
}

/** Expects that axe finds nothing. */
export async function accessible(page) {
  expect(await faults(page)).toEqual([]);
}
