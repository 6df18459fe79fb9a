// Plain numbers of a photo's pixels: how its light is spread, and how steep its edges are.
// Whether that is sharp or bright enough is Python's business (pwa/app/joints/photo_quality.py).

const SIDE = 1000; // px; larger photos are measured at this size, where the sensor's noise has averaged out
const COLUMNS = 8;
const ROWS = 6;
const BINS = 16;
const ALONG = 2; // an edge is averaged over this many px to both sides along it, against noise
const ACROSS = 10; // and followed over this many px to both sides across it

/**
 * `edges`: of each tile of the inner picture, the steepest edge for x and the steepest for y, each as
 * [grey levels a px, grey levels in all]. `side`: px of the long side at which they were measured.
 * @typedef {{width: number, height: number, side: number, histogram: number[], edges: {x: number[][], y: number[][]}}} Pixels
 */

/**
 * @param {CanvasImageSource & {width: number, height: number}} picture
 * @returns {Pixels}
 */
export function measure(picture) {
  const scale = Math.min(1, SIDE / Math.max(picture.width, picture.height));
  const [width, height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { willReadFrequently: true }));
  pen.imageSmoothingQuality = "high";
  pen.drawImage(picture, 0, 0, width, height);
  const grey = greyOf(pen.getImageData(0, 0, width, height).data);
  const histogram = new Array(BINS).fill(0);
  for (const level of grey) histogram[Math.min(BINS - 1, Math.floor((level * BINS) / 256))] += 1;
  const edges = {
    x: steepest(grey, { length: width, lines: height, step: 1, apart: width }, COLUMNS, ROWS),
    y: steepest(grey, { length: height, lines: width, step: width, apart: 1 }, ROWS, COLUMNS),
  };
  return { width: picture.width, height: picture.height, side: Math.max(width, height), histogram, edges };
}

/** @param {Uint8ClampedArray} data RGBA; the weights are those of ITU-R BT.601 */
function greyOf(data) {
  const grey = new Float32Array(data.length / 4);
  for (let i = 0; i < grey.length; i += 1) grey[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
  return grey;
}

/**
 * The steepest edge across the lines of each inner tile. Lines run along the axis: their px lie `step` apart in
 * `grey`, the lines themselves `apart`.
 * @param {Float32Array} grey
 * @param {{length: number, lines: number, step: number, apart: number}} axis
 * @param {number} tiles how many along the axis
 * @param {number} bands how many across it
 */
function steepest(grey, { length, lines, step, apart }, tiles, bands) {
  const level = (/** @type {number} */ line, /** @type {number} */ i) => {
    let sum = 0;
    for (let near = -ALONG; near <= ALONG; near += 1) sum += grey[(line + near) * apart + i * step];
    return sum / (2 * ALONG + 1);
  };
  const found = [];
  for (let band = 1; band < bands - 1; band += 1) {
    for (let tile = 1; tile < tiles - 1; tile += 1) {
      const best = { slope: 0, line: 0, at: 0 };
      for (let line = cut(lines, band, bands); line < cut(lines, band + 1, bands); line += 1) {
        for (let i = cut(length, tile, tiles); i < cut(length, tile + 1, tiles); i += 1) {
          const slope = Math.abs(level(line, i + 1) - level(line, i - 1)) / 2;
          if (slope > best.slope) Object.assign(best, { slope, line, at: i });
        }
      }
      const around = [];
      for (let i = Math.max(0, best.at - ACROSS); i <= Math.min(length - 1, best.at + ACROSS); i += 1) around.push(level(best.line, i));
      found.push([tenth(best.slope), tenth(Math.max(...around) - Math.min(...around))]);
    }
  }
  return found;
}

/**
 * @param {number} whole
 * @param {number} part
 * @param {number} parts
 */
function cut(whole, part, parts) {
  return Math.floor((whole * part) / parts);
}

/** @param {number} value */
function tenth(value) {
  return Math.round(value * 10) / 10;
}
