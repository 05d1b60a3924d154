// Runs pieces of Python one after the other and says what each left on the heap.
//
// Reads {"files": {path: base64}, "parts": [[name, code], ...]} from standard input and prints
// [[name, bytes in use], ...]. This MicroPython collects garbage only between calls, which is why
// the parts are calls of their own.

import { readFileSync } from "node:fs";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript";

const HEAP_BYTES = 16 * 1024 * 1024; // large, so that nothing is collected within a part

const task = JSON.parse(readFileSync(0, "utf8"));
const python = await loadMicroPython({ heapsize: HEAP_BYTES, stdout: (line) => console.error(line) });

for (const [path, text] of Object.entries(task.files)) {
  const folders = path.split("/").slice(1, -1);
  folders.forEach((_, at) => {
    const folder = "/" + folders.slice(0, at + 1).join("/");
    if (!python.FS.analyzePath(folder).exists) python.FS.mkdir(folder);
  });
  python.FS.writeFile(path, Buffer.from(text, "base64"));
}

function bytesInUse() {
  python.runPython("import gc");
  python.runPython("gc.collect()");
  python.runPython("gc.collect()");
  python.runPython("_in_use = gc.mem_alloc()");
  return python.globals.get("_in_use");
}

bytesInUse(); // makes its own names, which count for nobody
const found = [];
for (const [name, code] of task.parts) {
  try {
    python.runPython(code);
  } catch (fault) {
    console.error(`${name}: ${fault.message}`);
    process.exit(1);
  }
  found.push([name, bytesInUse()]);
}
console.log(JSON.stringify(found));
