/**
 * @param {number} digits
 * @returns {string} so many fresh hex digits
 */
export function randomHex(digits) {
  // getRandomValues gives 65,536 bytes at most.
  const parts = [];
  for (let left = Math.ceil(digits / 2); left > 0; left -= 4096) {
    const bytes = crypto.getRandomValues(new Uint8Array(Math.min(left, 4096)));
    parts.push(Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join(""));
  }
  return parts.join("").slice(0, digits);
}
