// A shop with many jobs or a full shelf, put there by a device of its own.

import { Desk, uuid } from "../support/desk.mjs";

const REPAIRS = [
  ["Tail-cone fairing", "Loose rivets on the left side", "Four rivets on the left side smear. No cracks seen from outside."],
  ["Wing-tip fairing", "Torn attach flange", "The flange is torn between two holes. Lay-up is dry and white around the third."],
  ["Engine cowl, upper", "Crack at the latch", "A crack runs from the latch cut-out along the stiffener, about as long as a thumb."],
  ["Wheel spat, right", "Holes worn oval", "Three of eight holes are oval, screws sit loose, paint is worn through to the cloth."],
];

const STEPS = [
  "Make safe and gain access to both sides",
  "Photograph and number the row",
  "Survey which rivets work, and why",
  "Decide the fastener for each hole",
  "Secure the joint",
  "Take the working rivets out",
  "Read the empty holes",
  "Set the new rivets",
  "Inspect and close",
];

const INSTRUCTION =
  "Photograph it as found, streaks included. Number every hole from a fixed landmark, look for cracks that start " +
  "at holes with a glass and a light from the side, and ask why it works before anything is drilled.";

/** Opens `count` jobs in the person's first shop. */
export async function openJobs(url, login, count) {
  const desk = await Desk.signIn(url, login);
  for (let number = 1; number <= count; number++) await desk.openJob(bodies(number));
}

/** Puts `count` items on the shelf of the person's first shop. */
export async function fillShelf(url, login, count) {
  const desk = await Desk.signIn(url, login);
  await desk.changeShop(Array.from({ length: count }, (_, number) => item(number)));
}

/** An item of the shelf: rivets of all sizes, batch by batch. */
function item(number) {
  const set = {
    part_number: `MS204${number % 2 ? 70 : 26}AD${2 + (number % 5)}-${3 + (number % 12)}`,
    description: "solid rivet",
    batch: `R-${10_000 + number}`,
    source_document: `CoC 90-${number}`,
    quantity: 100 + number,
    location: `drawer ${number % 60}`,
  };
  return { kind: "stock.v1", id: uuid(), set };
}

/** What opens a job and brings it some way: no two jobs are equally far. */
function bodies(number) {
  const [part, title, discrepancy] = REPAIRS[number % REPAIRS.length];
  const done = number % STEPS.length;
  const facts = {
    title: `${title}, no. ${number}`,
    registration: `ZZ-${String(number).padStart(3, "0")}`,
    aircraft_type: "Touring motor glider (invented)",
    aircraft_serial: `S-${1000 + number}`,
    part,
    discrepancy,
  };
  const reference = { document: "Type's maintenance manual (invented)", revision: "3", paragraph: "51-10-02" };
  return [
    { kind: "job.v1", set: facts },
    { kind: "data-reference.v1", id: uuid(), set: reference },
    ...STEPS.map((title, place) => ({ kind: "step.v1", id: uuid(), set: step(title, place, place < done) })),
  ];
}

function step(title, place, done) {
  const order = `${(0x81 + place).toString(16)}80`;
  const times = done ? { started_at: Date.now() - 3_600_000, finished_at: Date.now() } : {};
  return { title, instruction: INSTRUCTION, order, hold_point: false, ...times };
}
