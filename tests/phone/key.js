// Evaluated in a page: what any script of this origin can do with the phone's signing key.
async () => {
  const opened = await new Promise((resolve, reject) => {
    const opening = indexedDB.open("layby");
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
  });
  const pair = await new Promise((resolve, reject) => {
    const asked = opened.transaction("facts").objectStore("facts").get("key");
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  opened.close();
  if (!pair) return "null";
  const { privateKey } = pair;
  const given = [];
  for (const form of ["pkcs8", "jwk", "raw", "spki"]) {
    const out = await crypto.subtle.exportKey(form, privateKey).catch(() => undefined);
    if (out) given.push(form);
  }
  const { extractable, algorithm, usages } = privateKey;
  return JSON.stringify({ extractable, algorithm, usages, given, written: JSON.stringify(privateKey) });
}
