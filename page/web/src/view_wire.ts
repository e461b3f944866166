// SPDX-License-Identifier: GPL-3.0-or-later
// Wiring: what to put right and the value that does it, what is left for the starter, every circuit with its fuse, its wires.
import { button, h, type Kid } from './dom';
import { download, stem } from './export';
import { complain, edit } from './run';
import { state } from './state';
import { table } from './table';
import { drawing, jobResult } from './view_job';
import { gradeMark, gradeWords } from './symbols';
import { clock, digits, prettyUnit, show } from './units';

interface Circuit { name: string; load: string; running_a: number; first_a: number; load_v: number; fuse_a: number | null; relay_a: number | null; fuse_reason: string; checks: Record<string, boolean> }
interface Wire { number: string; circuit: string; from: string; to: string; colour: string; area_m2: number; awg: number; length_m: number; current_a: number; drop_v: number; conductor_k: number; reason: string }
interface Note { part: string | null; message: string; remedy: string; mend: { path: string; value: string }[] | null }

const checkWords: Record<string, string> = {
  fuse_guards: 'the fuse does not guard the wire', fuse_stands: 'the fuse may open on the load', relay: 'relay too small', switch: 'switch too small', drop: 'too little voltage at the load', heat: 'the wire gets too hot', volts: 'made for other volts', independent_protection: 'no over-heat cut-out of its own',
};
const amps = (value: number | null) => (value === null ? '–' : `${digits(value)} A`);
const awgText = (awg: number) => (awg > 0 ? `AWG ${awg}` : `AWG ${1 - awg}/0`);

/** The schematic, drawn after IEC 60617 by the server, into its place while that is on the page. */
async function schematicInto(place: HTMLElement, text: string): Promise<void> {
  try {
    await new Promise((next) => window.setTimeout(next)); // the place comes onto the page first
    const svg = (await jobResult('schematic', text, () => place.isConnected || state.view !== 'wire'))?.svg;
    if (typeof svg === 'string') {
      place.replaceChildren(h('h2', {}, 'Schematic'), drawing('Schematic of the wiring; the tables say the same', svg), button('Take the schematic along (SVG)', () => download(`${stem()}-wiring.svg`, 'image/svg+xml', svg)));
    }
  } catch (error) {
    complain(error);
  }
}

/** What an edit of the wiring does, by the circuit's name where the path has its number. */
function mendWords(note: Note): string {
  return (note.mend ?? []).map(({ path, value }) => `${/^circuits\//.test(path) ? `${note.part}, ${path.split('/').slice(2).join(' ')}` : path.replaceAll('/', ' ').replace(/^cables main size$/, 'main cable')}: ${prettyUnit(value)}`).join('; ');
}

function noteCard(note: Note): HTMLElement {
  const mend = note.mend;
  return h('article', { class: 'answer tight' }, gradeMark('tight'), h('div', {}, h('h3', {}, note.part && note.part !== 'electrics' ? note.part : 'the wiring as a whole'),
    h('p', {}, prettyUnit(note.message.charAt(0).toUpperCase() + note.message.slice(1)), '.'),
    note.remedy ? h('p', {}, h('strong', {}, 'Mend: '), prettyUnit(note.remedy)) : null,
    mend ? h('div', { class: 'row' }, button(`Do it: ${mendWords(note)}`, () => void edit(mend.map(({ path, value }) => ({ op: 'set', section: 'electrics', path, value }))), 'main mend')) : null));
}

export function renderWire(result: Record<string, unknown>, text: string): Kid[] {
  const { units } = state;
  const circuits = (result.circuits as Circuit[] | undefined) ?? [];
  const wires = (result.wires as Wire[] | undefined) ?? [];
  const notes = (result.to_put_right as Note[] | undefined) ?? [];
  const cautions = (result.cautions as string[] | undefined) ?? [];
  const balance = result.balance as Record<string, number | null> | undefined;
  const parts = (result.parts as { item: string; quantity: number; unit: string }[] | undefined) ?? [];
  const grade = result.good === true ? (notes.length ? 'tight' : 'good') : 'bad';
  const failed = (circuit: Circuit) => Object.entries(circuit.checks).filter(([key, met]) => !met && (circuit.load !== 'starter' || !key.startsWith('fuse'))).map(([key]) => key === 'fuse_guards' && circuit.fuse_a === null ? 'no fuse' : checkWords[key] ?? key.replaceAll('_', ' '));
  const size = (wire: Wire) => (units === 'us' ? awgText(wire.awg) : `${digits(wire.area_m2 * 1e6)} mm²`);
  const given = (key: string, word: string, write: (value: number) => string): Kid[] => {
    const value = balance?.[key];
    return value === null || value === undefined ? [] : [h('dt', {}, word), h('dd', {}, write(value))];
  };
  const schematic = h('section', { 'aria-label': 'Schematic' });
  if (state.start.verbs.includes('schematic')) {
    void schematicInto(schematic, text);
  }
  // What fails first; then as in the file.
  const order = [...circuits].sort((a, b) => Number(failed(a).length === 0) - Number(failed(b).length === 0));
  const names = [...new Set(wires.map((wire) => wire.circuit))];
  return [
    h('div', { class: 'verdict-words' }, gradeMark(grade), h('h1', { class: 'headline', tabindex: '-1' }, notes.length === 0 ? (grade === 'good' ? 'Every wire and fuse is right.' : 'A check of a circuit is not met.') : notes.length === 1 ? '1 thing to put right.' : `${notes.length} things to put right.`, h('span', { class: 'sr' }, ` (${gradeWords[grade]})`))),
    notes.length ? h('div', { class: 'answers' }, ...[...notes].sort((a, b) => Number(a.mend === null) - Number(b.mend === null)).map(noteCard)) : null,
    h('section', { class: 'cautions' }, h('h2', {}, 'Take care'), h('ul', {}, ...cautions.map((caution) => h('li', {}, caution)),
      h('li', {}, 'A battery gives hundreds of amperes into a slipped spanner.'), h('li', {}, 'Every heater needs its own fuse and its own over-heat cut-out.'))),
    balance ? h('h2', {}, 'Battery and starter') : null,
    balance ? h('dl', { class: 'pairs big narrow' },
      ...given('preheat_a', 'Drawn while pre-heating', amps), ...given('crank_v_now', 'At the battery while cranking, at once', (value) => show('voltage', value)),
      ...given('crank_v_after_10_min', 'after 10 min of pre-heat', (value) => show('voltage', value)), ...given('crank_v_after_10_min_one_more_battery', 'the same with one more battery', (value) => show('voltage', value)),
      ...given('idle_alternator_a', 'Alternator at idle gives', amps), ...given('idle_loads_a', 'loads at idle take', amps)) : null,
    h('h2', {}, 'Circuits'),
    table('Circuits', ['Circuit', 'Checks', 'Fuse', 'Relay', 'Runs at', 'First', 'At the load', 'Fuse chosen for'], order.map((circuit) => {
      const wrong = failed(circuit);
      return [circuit.name, h('span', { class: 'grade-cell' }, gradeMark(wrong.length ? 'bad' : 'good'), ` ${wrong.length ? wrong.join(', ') : circuit.fuse_a === null ? 'met, without fuse' : 'all met'}`),
        amps(circuit.fuse_a), amps(circuit.relay_a), amps(circuit.running_a), amps(circuit.first_a), circuit.load_v > 0 ? show('voltage', circuit.load_v) : '–', prettyUnit(circuit.fuse_reason)];
    })),
    schematic,
    h('h2', {}, 'Wires, circuit by circuit'),
    ...names.map((name) => {
      const own = wires.filter((wire) => wire.circuit === name);
      return h('details', { class: 'panel wires', open: window.innerWidth > 900 }, h('summary', {}, `${name}: ${own.length === 1 ? '1 wire' : `${own.length} wires`}`),
        table(`Wires of ${name}`, ['No.', 'From', 'To', 'Colour (IEC 60757)', 'Size', 'Length', 'Current', 'Drop', 'Conductor', 'Chosen for'], own.map((wire) => [String(wire.number), wire.from, wire.to, wire.colour, size(wire),
          show('length', wire.length_m), amps(wire.current_a), `${digits(wire.drop_v, 3)} V`, show('temperature', wire.conductor_k), prettyUnit(wire.reason)])));
    }),
    parts.length ? h('details', { class: 'panel' }, h('summary', {}, `Parts list (${parts.length})`), h('ul', { class: 'spares' }, ...parts.map((part) => h('li', {}, `${prettyUnit(part.item)}: `, h('strong', {}, `${digits(part.quantity)} ${part.unit}`.trim()))))) : null,
    typeof result.soak_k === 'number' ? h('p', { class: 'field-help' }, `Reckoned at ${show('temperature', result.soak_k)}, system ${digits(Number(result.system_v))} V${result.took_ms ? `, in ${clock(Number(result.took_ms) / 1000)}` : ''}.`) : null,
  ];
}
