// SPDX-License-Identifier: GPL-3.0-or-later
// Worth, rate of return and annuity of 300 cash flows by `financial` (npm, MIT, a port of numpy-financial) against ours,
// printed by the program named on the command line. Ends 77 (skipped) when it is not installed.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
if (!existsSync(join(root, "node_modules", "financial"))) {
  console.log("skipped: financial is not installed (npm ci)");
  process.exit(77);
}
const { irr, npv, pv } = await import("financial");

// The examples in its documentation first, then drawn ones: a cost, then gains (one rate of return exists).
const cases = [
  [0.281, -100, 39, 59, 55, 20],
  [0.08, -100, 0, 0, 74],
  [0.08, -100, 100, 0, -7],
  [0.08, -40000, 5000, 8000, 12000, 30000],
];
let state = 12345;
const draw = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648;
while (cases.length < 300) {
  const years = 1 + Math.floor(draw() * 25);
  const gains = Array.from({ length: years }, () => Math.round(1000 * draw()) + 1);
  const sum = gains.reduce((a, b) => a + b, 0);
  cases.push([Math.round(draw() * 2000) / 10000 + 0.001, -Math.round(sum * (0.2 + 1.1 * draw())) - 1, ...gains]);
}
const run = spawnSync(process.argv[2], { encoding: "utf8", input: `${cases.map((c) => c.join(" ")).join("\n")}\n` });
if (run.status !== 0) {
  throw new Error(`${process.argv[2]} ended ${run.status}`);
}
const ours = run.stdout.trim().split("\n").map((line) => line.split(" "));
let failures = ours.length === cases.length ? 0 : 1;
let rates = 0;
const near = (got, wanted, tolerance) => Math.abs(got - wanted) <= tolerance * (1 + Math.abs(wanted));
cases.forEach(([rate, ...flows], i) => {
  const [worth, ownRate, annuity] = ours[i].map(Number);
  const scale = flows.reduce((a, b) => a + Math.abs(b), 0);
  const theirRate = irr(flows, 0.1, 1e-12, 1000);
  const isGood = Math.abs(worth - npv(rate, flows)) <= 1e-12 * scale &&
    near(annuity, -pv(rate, flows.length - 1, 1, 0), 1e-12);
  // Its Newton steps may end at no rate; where it finds one, ours is the same, unless there are two (case 3).
  const isRated = Number.isFinite(theirRate) && flows.filter((f) => f < 0).length === 1;
  const isSame = !isRated || near(ownRate, theirRate, 1e-9);
  rates += isRated ? 1 : 0;
  if (!isGood || !isSame) {
    failures++;
    console.log(`FAIL ${flows.join(" ")} at ${rate}: ours ${ours[i].join(" ")}, theirs ${npv(rate, flows)} ${theirRate} ` +
      `${-pv(rate, flows.length - 1, 1, 0)}`);
  }
});
console.log(`${cases.length} cash flows, ${rates} rates of return, ${failures} differ`);
process.exit(failures === 0 && rates > 250 ? 0 : 1);
