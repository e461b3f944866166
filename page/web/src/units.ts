// SPDX-License-Identifier: GPL-3.0-or-later
// SI numbers to what people read, by the server's own table of quantities.
import type { Quantity, UnitSystem } from './types';

let table: Record<string, Quantity> = {};
let system: UnitSystem = 'metric';

export function setQuantities(quantities: Record<string, Quantity>): void {
  table = quantities;
}
export function setSystem(units: UnitSystem): void {
  system = units;
}

export function unitLabel(quantity: string): string {
  return table[quantity]?.[system].label ?? '';
}

export function toShown(quantity: string, si: number): number {
  const scale = table[quantity]?.[system];
  return scale ? si * scale.factor + scale.offset : si;
}

/** Three significant digits, never an exponent for workshop-sized numbers; U+2212 as minus. */
export function digits(value: number, decimals?: number): string {
  if (!Number.isFinite(value)) {
    return '–';
  }
  const size = Math.abs(value);
  const places = decimals ?? (size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : size === 0 ? 0 : Math.min(6, 2 - Math.floor(Math.log10(size))));
  let text = value.toFixed(places);
  if (text.includes('.')) {
    text = text.replace(/0+$/, '').replace(/\.$/, '');
  }
  return (text === '-0' ? '0' : text).replace('-', '−');
}

export function show(quantity: string, si: number | null | undefined, withUnit = true): string {
  if (si === null || si === undefined) {
    return '–';
  }
  const decimals = quantity === 'temperature' || quantity === 'temperature difference' ? 1 : quantity === 'power' ? 0 : undefined;
  const text = digits(toShown(quantity, si), decimals);
  const label = unitLabel(quantity);
  return withUnit && label !== '' ? `${text} ${label}` : text;
}

/** 86.4 -> "1 min 26 s". */
export function clock(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined) {
    return '–';
  }
  const whole = Math.round(seconds);
  if (whole < 60) {
    return `${seconds < 10 && whole !== seconds ? digits(seconds, 1) : whole} s`;
  }
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor((whole % 3600) / 60);
  const rest = whole % 60;
  return [hours ? `${hours} h` : '', minutes ? `${minutes} min` : '', rest && !hours ? `${rest} s` : ''].filter(Boolean).join(' ');
}

const unitNames: Record<string, string> = {
  'K': 'temperature', 'Pa': 'pressure', 'm2/s': 'kinematic viscosity', 'm3/s': 'volume flow', 'W': 'power', 's': 'time', 'C': 'charge',
  'J': 'energy', 'm': 'length', 'm3': 'volume', 'kg': 'mass', 'V': 'voltage', 'A': 'current', 'Pa s': 'dynamic viscosity', 'kg/m3': 'density',
};

/** A value by its SI unit as the answers name it; a share of one becomes per cent. */
export function showUnit(unit: string, si: number | null): string {
  if (si === null) {
    return '–';
  }
  if (unit === 's') {
    return clock(si);
  }
  const quantity = unitNames[unit];
  return quantity ? show(quantity, si) : digits(si);
}

/** Splits "12 mm" into its number and unit; null when it does not begin with a number. */
export function splitQuantity(text: string): { number: string; unit: string } | null {
  const match = /^\s*([-+−]?[\d.,]+(?:\s*\/\s*\d+)?(?:e[-+]?\d+)?)\s*(.*?)\s*$/i.exec(text);
  return match ? { number: match[1].replace('−', '-'), unit: match[2] } : null;
}

/** A unit as the file spells it, as people write it. */
export function prettyUnit(unit: string): string {
  return unit.replace(/\bdeg([CF])\b/g, '°$1').replace(/(\b[munk]?m)([23])\b/g, (_, base: string, power: string) => base + (power === '2' ? '²' : '³'));
}

/** The next handy value up or down: 12 -> 13, 3.2 -> 3.5, 120 -> 130. */
export function nextStep(value: number, direction: 1 | -1): number {
  const size = Math.abs(value);
  if (size === 0) {
    return direction;
  }
  const decade = 10 ** Math.floor(Math.log10(size) + 1e-9);
  const lead = size / decade;
  const step = lead < 2 ? decade / 10 : lead < 5 ? decade / 2 : decade;
  const usual = size >= 5 && size < 10 ? 1 : step;
  const count = value / usual;
  const next = direction > 0 ? Math.floor(count + 1 + 1e-6) : Math.ceil(count - 1 - 1e-6);
  return Number((next * usual).toPrecision(6));
}
