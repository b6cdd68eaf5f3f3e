// node ask.cjs wasm_exec.js main.wasm: reads lines of JSON {op, ask, now?} and answers
// each with a line {reply, points?, progress}, as the app's worker would ask.
const fs = require("fs");
const [runtime, wasm] = process.argv.slice(2);
require(require("path").resolve(runtime));
(async () => {
  const go = new Go();
  const { instance } = await WebAssembly.instantiate(fs.readFileSync(wasm), go.importObject);
  go.run(instance);
  for (const line of fs.readFileSync(0, "utf8").split("\n").filter(Boolean)) {
    const { op, ask, now, abort } = JSON.parse(line);
    const text = JSON.stringify(ask);
    let progress = 0;
    const signal = { aborted: false };
    const heard = () => { progress++; signal.aborted = !!abort; };
    const got = now ? sternfan.now(op, text) : await sternfan.call(op, text, heard, signal);
    const points = got.points && Array.from(got.points);
    const line2 = JSON.stringify({ reply: JSON.parse(got.json), points, progress }) + "\n";
    await new Promise((done) => process.stdout.write(line2, done));
  }
  process.exit(0);
})();
