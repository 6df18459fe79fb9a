// Evaluates JavaScript in the page that WebKitGTK's MiniBrowser shows, through its remote inspector.
// Usage: node webkit.mjs PORT; one JSON text of an expression a line in, {"value"} or {"error"} a line out.

import { createInterface } from "node:readline";

const inspector = `127.0.0.1:${process.argv[2]}`;

/** The page's place in the inspector's list, as soon as it is there. */
async function place() {
  for (;;) {
    const list = await fetch(`http://${inspector}/`).then((answer) => answer.text(), () => "");
    const found = /\/socket\/\d+\/\d+\/WebPage/.exec(list);
    if (found) return found[0];
    await new Promise((done) => setTimeout(done, 50));
  }
}

const socket = new WebSocket(`ws://${inspector}${await place()}`);
const answers = new Map();
const UNANSWERED = { error: { message: "no answer" } };
let count = 0;
let target = Promise.withResolvers();

socket.onmessage = ({ data }) => {
  const { method, params } = JSON.parse(data);
  if (method === "Target.targetCreated" && !params.targetInfo.isProvisional) target.resolve(params.targetInfo.targetId);
  if (method === "Target.didCommitProvisionalTarget") {
    (target = Promise.withResolvers()).resolve(params.newTargetId);
    for (const done of answers.values()) done(UNANSWERED); // the page that was asked is gone
    answers.clear();
  }
  if (method !== "Target.dispatchMessageFromTarget") return;
  const answer = JSON.parse(params.message);
  answers.get(answer.id)?.(answer);
};

/** A page that goes away in the middle takes its answer along. */
async function ask(method, params) {
  const id = (count += 1);
  const answered = new Promise((done) => answers.set(id, done));
  const message = JSON.stringify({ id, method, params });
  socket.send(JSON.stringify({ id, method: "Target.sendMessageToTarget", params: { targetId: await target.promise, message } }));
  const gone = new Promise((done) => setTimeout(done, 20_000, UNANSWERED));
  return Promise.race([answered, gone]);
}

async function evaluate(expression) {
  const { result, error } = await ask("Runtime.evaluate", { expression });
  if (error) return { error: error.message };
  if (result.wasThrown) return { error: result.result.description };
  const said = result.result.className === "Promise" ? await awaited(result.result.objectId) : { result };
  if (said.error) return { error: said.error.message };
  return said.result.wasThrown ? { error: said.result.result.description } : { value: said.result.result.value ?? null };
}

const awaited = (promiseObjectId) => ask("Runtime.awaitPromise", { promiseObjectId, returnByValue: true });

for await (const line of createInterface({ input: process.stdin })) {
  process.stdout.write(`${JSON.stringify(await evaluate(JSON.parse(line)))}\n`);
}
process.exit();
