// Ten PouchDB phones against one pouchdb-server: node phones.js URL < JSON [[records of a phone], ...].
// Prints a line of JSON when a phase is done, and goes on when a line comes in.

const readline = require("node:readline");
const PouchDB = require("pouchdb");
PouchDB.plugin(require("pouchdb-adapter-memory"));

const lines = readline.createInterface({ input: process.stdin })[Symbol.asyncIterator]();
const next = async () => (await lines.next()).value;

async function main(url) {
  const written = JSON.parse(await next());
  const shop = new PouchDB(`${url}/shop`);
  await shop.info();
  const phones = written.map((_, n) => new PouchDB(`phone-${n}`, { adapter: "memory" }));
  for (const [n, phone] of phones.entries()) await phone.bulkDocs(written[n].map(({ id, ...rest }) => ({ _id: id, ...rest })));
  const all = (work) => Promise.all(phones.map(work));
  const phases = {
    push: () => all((phone) => phone.replicate.to(shop)),
    pull: () => all((phone) => phone.replicate.from(shop)),
    nothing: () => all((phone) => phone.sync(shop)),
    one: () => all(async (phone, n) => {
      await phone.put({ ...written[n][0], id: undefined, _id: `one-${n}` });
      await phone.sync(shop);
    }),
  };
  console.log(JSON.stringify({ phase: "ready" }));
  for (const [phase, run] of Object.entries(phases)) {
    await next();
    const begun = performance.now();
    await run();
    const seconds = (performance.now() - begun) / 1000;
    const held = await Promise.all(phones.map(async (phone) => (await phone.info()).doc_count));
    console.log(JSON.stringify({ phase, seconds, held }));
  }
  process.exit(0);
}

main(process.argv[2]);
