// A phone restored from an old backup goes on as a new device; Python judges and writes (pwa/app/record/forked.py).

import * as keys from "./keys.js";
import { python } from "./python.js";
import { randomHex } from "./random.js";
import * as store from "./store.js";

const DIGITS = 20; // of randomness for a record

/**
 * @param {{seq: number, head: string}} here where this phone's chain ends at the server
 * @param {(message: {device: string, token: string}) => Promise<unknown>} enrol asks the server for the new device
 * @returns {Promise<boolean>} whether the phone is another device now, so that the exchange has to begin again
 */
export async function forked(here, enrol) {
  // Kept until it is done, so that a lost answer or a killed worker asks for the same device again.
  const plan = (await store.fact("fork")) ?? { device: crypto.randomUUID(), token: randomHex(64) };
  const before = await store.device();
  const rows = await store.unsentRows(Infinity);
  const texts = `[${rows.map((row) => JSON.stringify(row.text)).join(",")}]`;
  const own = (await store.ownText(before.id, here.seq)) ?? "";
  const random = randomHex(DIGITS * (rows.length + 1)); // one more for its name
  const made = (await python()).fork(JSON.stringify(here), own, texts, JSON.stringify(before), plan.device, random);
  if (!made) return false;
  await store.setFact("fork", plan);
  await enrol(plan);
  const { records, device } = JSON.parse(made);
  await store.goOnAs({ before, after: device, token: plan.token, rows, texts: records });
  keys.forget();
  return true; // also when somebody wrote meanwhile: then the next exchange comes here again
}
