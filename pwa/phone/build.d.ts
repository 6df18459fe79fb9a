/** What the build puts in place of these names (pwa/build/bundle.mjs). */
declare const __PRECACHE__: { version: string; files: { [path: string]: string } };

/** Whether `layby dev` built this. */
declare const __DEV__: boolean;

/** pwa/app/contract.py */
declare const __CONTRACT__: {
  PROTOCOL: number;
  ENROL: string;
  FORK: string;
  PHOTOS: string;
  SYNC: string;
  UPLOADS: string;
  SERVER: string[];
  NO_NAME: string;
  SHOP: string;
  PERSON: string;
  FORM_TOKEN: string;
  NAME_LENGTH: number;
  PHOTO_BYTES: number;
  RECORD_MOST: number;
  SENT_RECORDS: number;
  ANSWER_SIZE: number;
  HEAD_TEXT: string;
  COUNTERSIGNED_TEXT: string;
  FILE_FORMAT: string;
  FILE_VERSION: number;
  FILE_RECORDS: string;
  FILE_ABOUT: string;
  FILE_PHOTOS: string;
  FILE_ENDINGS: { [type: string]: string };
  FILE_OF_ALL: string;
  FILE_OF_JOB: string;
  ALL: string;
  NAMED: number;
  PHONE_TAKES: { bytes: number; files: number; records: number };
};

/** The little of MicroPython's loader that python.js uses; the package brings no types. */
declare module "@micropython/micropython-webassembly-pyscript/micropython.mjs" {
  export function loadMicroPython(options: { url?: string; heapsize?: number }): Promise<any>;
}
