// Which requests are this phone's own. A page of any other site can open an address here and send a form to it, and the
// browser passes both to the worker as if they were ours. But that page cannot read ours, so it does not know the
// token that stands in each form; and what a page fetches comes here only from pages of this origin.

import { FORM_TOKEN } from "./contract.js";
import * as store from "./store.js";

const READS = ["GET", "HEAD"];
const OURS = ["same-origin", "none"]; // none: a person typed the address

/** A form of another site. Nothing of it may be kept, not even that it came. */
export class NotOurs extends Error {}

/** @param {Request} request */
export const writes = (request) => !READS.includes(request.method);

/**
 * Whether one of our pages fetches this: what other pages fetch goes past this worker.
 * @param {Request} request
 */
export const isFetch = (request) => request.mode !== "navigate" && !isElsewhere(request);

/**
 * The fields of a form of this phone's own, without what only showed that it is.
 * @param {Request} request
 * @returns {Promise<FormData>}
 */
export async function formOf(request) {
  if (isElsewhere(request)) throw new NotOurs();
  if (isFetch(request)) return without(await request.formData());
  const form = await request.formData().catch(() => new FormData()); // of a type that no form of ours has
  if (form.get(FORM_TOKEN) !== (await store.formToken())) throw new NotOurs();
  return without(form);
}

/**
 * Whether the browser says that a page of another site asks. Each says it in another way, and some say nothing.
 * @param {Request} request
 */
function isElsewhere({ headers, referrer }) {
  const site = headers.get("Sec-Fetch-Site");
  const origin = headers.get("Origin");
  return (
    (site !== null && !OURS.includes(site)) ||
    (origin !== null && origin !== self.location.origin) ||
    (/^https?:/.test(referrer) && new URL(referrer).origin !== self.location.origin)
  );
}

/** @param {FormData} form */
function without(form) {
  form.delete(FORM_TOKEN);
  return form;
}
