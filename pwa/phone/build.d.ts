/** What the build puts in place of this name (pwa/build/bundle.mjs). */
declare const __PRECACHE__: { version: string; files: { [path: string]: string } };

/** The little of MicroPython's loader that python.js uses; the package brings no types. */
declare module "@micropython/micropython-webassembly-pyscript/micropython.mjs" {
  export function loadMicroPython(options: { url?: string; heapsize?: number }): Promise<any>;
}
