// SPDX-License-Identifier: GPL-3.0-or-later
// Three steady networks solved by EPANET 2.2 (npm epanet-js) against the program named on the command line, which prints
// "network link flow_m3_s" lines for the same three. Ends 77 (skipped) when epanet-js is not installed.
// Darcy-Weisbach. EPANET takes Hagen-Poiseuille below Re 2000 and Swamee-Jain above 4000, Oilwright Churchill throughout: the
// networks keep to where both agree, laminar, or rough turbulent flow with minor losses leading.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
if (!existsSync(join(root, "node_modules", "epanet-js"))) {
  console.log("skipped: epanet-js is not installed (npm ci)");
  process.exit(77);
}
const { Project, Workspace } = await import("epanet-js");

const TOLERANCE = 0.005; // of each flow; EPANET's g of 32.2 ft/s2 and its viscosity of water already take 0.1 %

const options = (viscosity) => `
[OPTIONS]
 UNITS LPS
 HEADLOSS D-W
 VISCOSITY ${viscosity}
 SPECIFIC GRAVITY 1.0
 TRIALS 200
 ACCURACY 0.00001
[TIMES]
 DURATION 0
[REPORT]
 STATUS NO
[END]
`;

// Viscosity is given relative to water at 20 deg C; above 1e-3 EPANET multiplies by 1.1e-5 ft2/s = 1.02193344e-6 m2/s.
const networks = {
  // 80 mm2/s oil between two tanks through a loop of 8 and 10 mm lines.
  loop: `
[RESERVOIRS]
 A 3.0
 D 0.0
[JUNCTIONS]
 B 0 0
 C 0 0
[PIPES]
 AB A B 2.0 10 0.0015 0 Open
 BC B C 1.5 8 0.0015 0 Open
 BD B D 4.0 8 0.0015 0 Open
 CD C D 2.0 10 0.0015 0 Open
 AC A C 6.0 8 0.0015 0 Open
${options(80e-6 / (1.1e-5 * 0.3048 * 0.3048))}`,
  // A pump line of three points through a laminar line up 1 m: one straight curve, so that the interpolation agrees.
  pump: `
[RESERVOIRS]
 A 0.0
 C 1.0
[JUNCTIONS]
 B 0 0
[PIPES]
 BC B C 3.0 10 0.0015 0 Open
[PUMPS]
 AB A B HEAD 1
[CURVES]
 1 0 5
 1 0.02 2.5
 1 0.03 1.25
 1 0.04 0
${options(80e-6 / (1.1e-5 * 0.3048 * 0.3048))}`,
  // Two throttled branches side by side, water-thin: rough pipe, minor losses of 40 and 90 velocity heads.
  valves: `
[RESERVOIRS]
 A 20.0
 D 0.0
[JUNCTIONS]
 B 0 0
 C 0 0
[PIPES]
 AB A B 2.0 25 0.5 5 Open
 BC1 B C 0.5 20 0.5 40 Open
 BC2 B C 0.5 20 0.5 90 Open
 CD C D 2.0 25 0.5 5 Open
${options(1e-6 / (1.1e-5 * 0.3048 * 0.3048))}`,
};

async function solveByEpanet() {
  const flows = new Map();
  for (const [name, text] of Object.entries(networks)) {
    const workspace = new Workspace();
    await workspace.loadModule();
    const model = new Project(workspace);
    workspace.writeFile("net.inp", `[TITLE]\n${name}\n${text}`);
    model.open("net.inp", "net.rpt", "net.bin");
    model.solveH();
    const FLOW = 8; // EN_FLOW
    const LINK_COUNT = 2; // EN_LINKCOUNT
    for (let i = 1; i <= model.getCount(LINK_COUNT); i++) {
      flows.set(`${name} ${model.getLinkId(i)}`, model.getLinkValue(i, FLOW) / 1000);
    }
    model.close();
  }
  return flows;
}

function solveByOurs(program) {
  const run = spawnSync(program, { encoding: "utf8" });
  if (run.status !== 0) {
    throw new Error(`${program} ended ${run.status}`);
  }
  return new Map(
    run.stdout.trim().split("\n").map((line) => {
      const [network, link, flow] = line.split(" ");
      return [`${network} ${link}`, Number(flow)];
    }),
  );
}

const theirs = await solveByEpanet();
const ours = solveByOurs(process.argv[2]);
let failures = theirs.size === ours.size && theirs.size === 11 ? 0 : 1;
for (const [link, flow] of theirs) {
  const error = ours.has(link) ? ours.get(link) / flow - 1 : NaN;
  const isGood = Math.abs(error) <= TOLERANCE;
  failures += isGood ? 0 : 1;
  console.log(`${isGood ? "ok  " : "FAIL"} ${link.padEnd(12)} EPANET ${flow.toExponential(6)} ours ${ours.get(link)?.toExponential(6)}` +
    ` m3/s, ${(100 * error).toFixed(3)} %`);
}
process.exit(failures === 0 ? 0 : 1);
