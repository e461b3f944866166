// SPDX-License-Identifier: GPL-3.0-or-later
// Moist air by psychrolib (npm; after ASHRAE Fundamentals 2017, ch. 1) against the program named on the command line, over a grid of
// temperature, humidity and pressure. Ends 77 (skipped) when psychrolib is not installed.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
if (!existsSync(join(root, "node_modules", "psychrolib"))) {
  console.log("skipped: psychrolib is not installed (npm ci)");
  process.exit(77);
}
const psychrolib = createRequire(join(root, "package.json"))("psychrolib");
psychrolib.SetUnitSystem(psychrolib.SI);

const points = [];
for (const pressure of [101325, 90000, 75000]) {
  for (const t of [-15, -5, 2, 10, 20, 30, 45, 60, 75, 85]) {
    for (const relative of [0.1, 0.35, 0.6, 0.85, 1]) {
      points.push([t, relative, pressure]);
    }
  }
}

const columns = [
  // name, theirs, tolerance: relative for the first five and the last, kelvin for the two temperatures (they stop at 0.001 K)
  ["saturation", (t) => psychrolib.GetSatVapPres(t), 1e-7, true],
  ["ratio", (t, r, p) => psychrolib.GetHumRatioFromRelHum(t, r, p), 1e-7, true],
  ["enthalpy", (t, r, p, w) => psychrolib.GetMoistAirEnthalpy(t, w), 1e-7, true],
  ["volume", (t, r, p, w) => psychrolib.GetMoistAirVolume(t, w, p), 1e-6, true],
  ["density", (t, r, p, w) => psychrolib.GetMoistAirDensity(t, w, p), 1e-6, true],
  ["wet bulb", (t, r, p, w) => psychrolib.GetTWetBulbFromHumRatio(t, w, p), 2e-3, false],
  ["dew point", (t, r, p, w) => psychrolib.GetTDewPointFromRelHum(t, r), 2e-3, false],
  ["humidity", (t, r, p, w) => psychrolib.GetRelHumFromHumRatio(t, w, p), 1e-7, true],
];

const run = spawnSync(process.argv[2], { encoding: "utf8", input: points.map((point) => point.join(" ")).join("\n") + "\n" });
const rows = run.stdout.trim().split("\n").map((line) => line.split(" ").map(Number));
let failures = run.status === 0 && rows.length === points.length ? 0 : 1;
const worst = new Array(columns.length).fill(0);
points.forEach(([t, relative, pressure], i) => {
  const ratio = psychrolib.GetHumRatioFromRelHum(t, relative, pressure);
  columns.forEach(([name, theirs, tolerance, isRelative], k) => {
    const value = theirs(t, relative, pressure, ratio);
    const error = Math.abs(rows[i]?.[k] - value) / (isRelative ? Math.max(Math.abs(value), 1e-9) : 1);
    worst[k] = Math.max(worst[k], error);
    if (!(error <= tolerance)) {
      failures += 1;
      console.log(`FAIL ${name} at ${t} degC, ${relative}, ${pressure} Pa: psychrolib ${value} ours ${rows[i]?.[k]}`);
    }
  });
});
columns.forEach(([name, , tolerance, isRelative], k) =>
  console.log(`${name.padEnd(10)} ${points.length} points, worst ${worst[k].toExponential(2)}${isRelative ? "" : " K"} (allowed ${tolerance})`));
process.exit(failures === 0 ? 0 : 1);
