// node ask.cjs wasm_exec.js main.wasm: hands standard input to sternfan.run and prints
// what it answers, as a page would.
const fs = require("fs");
const [runtime, wasm] = process.argv.slice(2);
require(require("path").resolve(runtime));
(async () => {
  const go = new Go();
  const { instance } = await WebAssembly.instantiate(fs.readFileSync(wasm), go.importObject);
  go.run(instance);
  process.stdout.write(sternfan.run(fs.readFileSync(0, "utf8")), () => process.exit(0));
})();
