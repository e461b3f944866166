// SPDX-License-Identifier: GPL-3.0-or-later
// Wiring: every circuit with its fuse, every wire with its section, what is left for the starter, and what to put right.
import { button, h, type Kid } from './dom';
import { download, stem } from './export';
import { complain } from './run';
import { state } from './state';
import { drawing, jobResult } from './view_job';
import { gradeMark, gradeWords } from './symbols';
import { clock, digits, show } from './units';

interface Circuit { name: string; running_a: number; first_a: number; drop_v: number; drop_share: number; load_v: number; fuse_a: number | null; relay_a: number | null; fuse_reason: string; checks: Record<string, boolean> }
interface Wire { number: number; circuit: string; from: string; to: string; colour: string; area_m2: number; awg: number; length_m: number; current_a: number; drop_v: number; conductor_k: number; fuse_a: number | null; reason: string }
interface Note { part: string | null; message: string; remedy: string }

const checkWords: Record<string, string> = {
  fuse_guards: 'fuse guards the wire', fuse_stands: 'fuse stands the load', relay: 'relay', switch: 'switch', drop: 'voltage at the load', heat: 'wire stays cool', independent_protection: 'own over-heat cut-out',
};
const amps = (value: number | null) => (value === null ? '–' : `${digits(value)} A`);
const awgText = (awg: number) => (awg > 0 ? `AWG ${awg}` : `AWG ${1 - awg}/0`);

function table(title: string, head: string[], rows: Kid[][]): HTMLElement {
  return h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': title }, h('table', {}, h('thead', {}, h('tr', {}, ...head.map((word) => h('th', { scope: 'col' }, word)))),
    h('tbody', {}, ...rows.map((row) => h('tr', {}, ...row.map((kid, order) => (order === 0 ? h('th', { scope: 'row' }, kid) : h('td', typeof kid === 'string' && kid.length < 11 ? { class: 'short' } : {}, kid))))))));
}

/** The schematic, drawn after IEC 60617 by the server, into its place. */
async function schematicInto(place: HTMLElement): Promise<void> {
  try {
    const svg = (await jobResult('schematic'))?.svg;
    if (typeof svg === 'string') {
      place.replaceChildren(h('h2', {}, 'Schematic'), drawing('Schematic of the wiring; the tables say the same', svg), button('Take the schematic along (SVG)', () => download(`${stem()}-wiring.svg`, 'image/svg+xml', svg)));
    }
  } catch (error) {
    complain(error);
  }
}

/** Null when the answer has another shape. */
export function renderWire(result: Record<string, unknown>, units: 'metric' | 'us'): Kid[] | null {
  const circuits = result.circuits as Circuit[] | undefined;
  const wires = result.wires as Wire[] | undefined;
  if (!Array.isArray(circuits) || !Array.isArray(wires)) {
    return null;
  }
  const notes = (result.to_put_right as Note[] | undefined) ?? [];
  const balance = result.balance as Record<string, number | null> | undefined;
  const parts = (result.parts as { item: string; quantity: number; unit: string }[] | undefined) ?? [];
  const grade = result.good === true ? (notes.length ? 'tight' : 'good') : 'bad';
  const failed = (circuit: Circuit) => Object.entries(circuit.checks).filter(([key, met]) => !met && (circuit.fuse_a !== null || !key.startsWith('fuse'))).map(([key]) => checkWords[key] ?? key.replaceAll('_', ' '));
  const size = (wire: Wire) => (units === 'us' ? awgText(wire.awg) : `${digits(wire.area_m2 * 1e6)} mm²`);
  const given = (key: string, word: string, text: (value: number) => string): Kid[] => {
    const value = balance?.[key];
    return value === null || value === undefined ? [] : [h('dt', {}, word), h('dd', {}, text(value))];
  };
  const schematic = h('section', { 'aria-label': 'Schematic' });
  if (state.start.verbs.includes('schematic')) {
    void schematicInto(schematic);
  }
  return [
    h('div', { class: 'verdict-words' }, gradeMark(grade), h('h1', { class: 'headline' }, grade === 'good' ? 'Every wire and fuse is right.' : notes.length === 1 ? '1 thing to put right.' : `${notes.length} things to put right.`, h('span', { class: 'sr' }, ` (${gradeWords[grade]})`))),
    notes.length ? h('ul', {}, ...notes.map((note) => h('li', {}, `${note.part ? `${note.part}: ` : ''}${note.message}`, note.remedy ? h('span', {}, '. ', h('strong', {}, 'Mend: '), note.remedy) : null))) : null,
    h('section', { class: 'cautions' }, h('h2', {}, 'Take care'), h('ul', {}, h('li', {}, 'Take the earth clamp off the battery before you touch the wiring; a battery gives hundreds of amperes into a slipped spanner.'),
      h('li', {}, 'Every heater needs its own fuse and its own over-heat cut-out.'), h('li', {}, 'Local codes and a licensed electrician come before this list.'))),
    balance ? h('h2', {}, 'Battery and starter') : null,
    balance ? h('dl', { class: 'pairs big narrow' },
      ...given('preheat_a', 'Drawn while pre-heating', amps), ...given('crank_v_now', 'At the battery while cranking, at once', (value) => show('voltage', value)),
      ...given('crank_v_after_10_min', 'after 10 min of pre-heat', (value) => show('voltage', value)), ...given('crank_v_after_10_min_one_more_battery', 'the same with one more battery', (value) => show('voltage', value)),
      ...given('idle_alternator_a', 'Alternator at idle gives', amps), ...given('idle_loads_a', 'loads at idle take', amps)) : null,
    schematic,
    h('h2', {}, 'Circuits'),
    table('Circuits', ['Circuit', 'Runs at', 'First', 'At the load', 'Fuse', 'Relay', 'Checks', 'Fuse chosen for'], circuits.map((circuit) => {
      const wrong = failed(circuit);
      return [circuit.name, amps(circuit.running_a), amps(circuit.first_a), show('voltage', circuit.load_v), amps(circuit.fuse_a), amps(circuit.relay_a),
        h('span', { class: 'grade-cell' }, gradeMark(wrong.length ? 'bad' : 'good'), ` ${wrong.length ? wrong.join(', ') : circuit.fuse_a === null ? 'met, without fuse' : 'all met'}`), circuit.fuse_reason];
    })),
    h('h2', {}, 'Wires'),
    table('Wires', ['No.', 'Circuit', 'From', 'To', 'Colour (IEC 60757)', 'Size', 'Length', 'Current', 'Drop', 'Conductor', 'Chosen for'], wires.map((wire) => [String(wire.number), wire.circuit, wire.from, wire.to, wire.colour, size(wire),
      show('length', wire.length_m), amps(wire.current_a), `${digits(wire.drop_v, 3)} V`, show('temperature', wire.conductor_k), wire.reason])),
    parts.length ? h('details', { class: 'panel' }, h('summary', {}, `Parts list (${parts.length})`), table('Parts list', ['Item', 'Quantity'], parts.map((part) => [part.item, `${digits(part.quantity)} ${part.unit}`]))) : null,
    typeof result.soak_k === 'number' ? h('p', { class: 'field-help' }, `Reckoned at ${show('temperature', result.soak_k)}, system ${digits(Number(result.system_v))} V${result.took_ms ? `, in ${clock(Number(result.took_ms) / 1000)}` : ''}.`) : null,
  ];
}
