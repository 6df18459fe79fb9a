// What a file is by its own bytes, as at the server (server/store/pictures.py): one still picture with nothing behind
// its end may be shown. Everything else, whatever it calls itself, is handed out as a download at most.

/**
 * @param {ArrayBuffer} content
 * @returns {string} the type of a picture that may be shown, or ""
 */
export function mediaType(content) {
  const bytes = new Uint8Array(content);
  for (const { type, starts, end } of KINDS) {
    if (starts.some(([at, text]) => latin(bytes, at, text.length) !== text)) continue;
    const at = end(bytes);
    return at > 0 && at <= bytes.length && bytes.subarray(at).every((byte) => byte === 0) ? type : "";
  }
  return "";
}

/** @type {{type: string, starts: [number, string][], end: (bytes: Uint8Array) => number}[]} */
const KINDS = [
  { type: "image/jpeg", starts: [[0, "\xff\xd8\xff"]], end: jpegEnd },
  { type: "image/png", starts: [[0, "\x89PNG\r\n\x1a\n"]], end: pngEnd },
  { type: "image/webp", starts: [[0, "RIFF"], [8, "WEBP"]], end: webpEnd },
]; // prettier-ignore

const NO_END = -1;

/** @param {Uint8Array} bytes @param {number} at @param {number} length */
const latin = (bytes, at, length) => String.fromCharCode(...bytes.subarray(at, at + length));

const [FILL, END, ALONE] = [0xff, 0xd9, 0x01];

/** @param {number} code 0 stands for a data byte FF, D0 to D7 restart within a scan */
const standsAlone = (code) => code === 0 || code === ALONE || (code >= 0xd0 && code <= 0xd7);

/**
 * A marker is FF and a code; most have a length behind them. Source: ITU-T T.81 (JPEG), B.1.1.
 * @param {Uint8Array} bytes
 */
function jpegEnd(bytes) {
  let at = 2;
  while ((at = bytes.indexOf(FILL, at)) >= 0) {
    while (bytes[at] === FILL) at += 1;
    const code = bytes[at];
    at += 1;
    if (code === END) return at;
    if (at + 2 > bytes.length) return NO_END;
    if (!standsAlone(code)) at += bytes[at] * 256 + bytes[at + 1];
  }
  return NO_END;
}

/**
 * Chunks: length, name, data, checksum, up to IEND; acTL makes it a film. Source: PNG (W3C), 5.3 and 11.3.6.
 * @param {Uint8Array} bytes
 */
function pngEnd(bytes) {
  const view = new DataView(bytes.buffer);
  for (let at = 8; at + 12 <= bytes.length; ) {
    const name = latin(bytes, at + 4, 4);
    if (name === "acTL") return NO_END;
    at += 12 + view.getUint32(at);
    if (name === "IEND") return at;
  }
  return NO_END;
}

/**
 * One RIFF chunk, padded to an even length; a flag of VP8X makes it a film. Source: RFC 9649, 2.3 and 2.7.
 * @param {Uint8Array} bytes
 */
function webpEnd(bytes) {
  const isFilm = latin(bytes, 12, 4) === "VP8X" && (bytes[20] & 2) !== 0;
  const size = bytes.length < 12 || isFilm ? NO_END : new DataView(bytes.buffer).getUint32(4, true);
  return size < 4 ? NO_END : 8 + size + (size % 2);
}
