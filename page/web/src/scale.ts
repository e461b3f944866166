// SPDX-License-Identifier: GPL-3.0-or-later
// Scales: viscosity over its limit as a class, axis ticks, the two-speed time axis.

/** How thick the oil is against the limit: class 0..4, for colour, width and dash together. */
export function thickness(ratio: number | null): 0 | 1 | 2 | 3 | 4 | null {
  if (ratio === null || !Number.isFinite(ratio)) {
    return null;
  }
  return ratio <= 0.75 ? 0 : ratio <= 1 ? 1 : ratio <= 2 ? 2 : ratio <= 5 ? 3 : 4;
}
export const thicknessWords = ['thin enough', 'just thin enough', 'up to 2 times the limit', '2 to 5 times', 'over 5 times'];

/** "×3.2" for a ratio over one, "✓" for one that is met. */
export function ratioText(ratio: number | null): string {
  if (ratio === null) {
    return '';
  }
  return ratio <= 1 ? '✓' : `×${ratio >= 9.95 ? Math.round(ratio) : ratio.toFixed(ratio < 1.095 ? 2 : 1)}`;
}

export function ticks(low: number, high: number, wanted: number): number[] {
  const span = high - low;
  if (!(span > 0)) {
    return [low];
  }
  const raw = span / Math.max(1, wanted);
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * decade).find((m) => m >= raw) ?? decade;
  const list: number[] = [];
  for (let value = Math.ceil(low / step) * step; value <= high + step * 1e-9; value += step) {
    list.push(Math.abs(value) < step * 1e-9 ? 0 : value);
  }
  return list;
}

export function logTicks(low: number, high: number): number[] {
  const list: number[] = [];
  for (let power = Math.floor(Math.log10(low)); power <= Math.ceil(Math.log10(high)); power += 1) {
    for (const lead of [1, 2, 5]) {
      const value = lead * 10 ** power;
      if (value >= low * 0.999 && value <= high * 1.001) {
        list.push(value);
      }
    }
  }
  return list.length > 6 ? list.filter((value) => Math.abs(Math.log10(value) - Math.round(Math.log10(value))) < 1e-6) : list;
}

/**
 * Time on the bar: the minutes round the start are drawn wider than the drive, with the break marked; straight when the morning is
 * short. Share of the bar, 0..1, and back.
 */
export interface TimeScale { breakTime: number | null; breakShare: number; end: number }

export function timeScale(end_s: number, start_s: number | null, ready_s: number | null): TimeScale {
  const end = Math.max(end_s, 1e-3);
  const early = Math.max(30, Math.ceil(((start_s ?? ready_s ?? 0) + 45) / 30) * 30);
  return early * 2.5 < end ? { breakTime: early, breakShare: 0.42, end } : { breakTime: null, breakShare: 1, end };
}
export function toShare(scale: TimeScale, time_s: number): number {
  const time = Math.min(Math.max(time_s, 0), scale.end);
  if (scale.breakTime === null) {
    return time / scale.end;
  }
  return time <= scale.breakTime
    ? (time / scale.breakTime) * scale.breakShare
    : scale.breakShare + ((time - scale.breakTime) / (scale.end - scale.breakTime)) * (1 - scale.breakShare);
}
export function fromShare(scale: TimeScale, share: number): number {
  const part = Math.min(Math.max(share, 0), 1);
  if (scale.breakTime === null) {
    return part * scale.end;
  }
  return part <= scale.breakShare
    ? (part / scale.breakShare) * scale.breakTime
    : scale.breakTime + ((part - scale.breakShare) / (1 - scale.breakShare)) * (scale.end - scale.breakTime);
}
/** Times to label on the bar. */
export function timeTicks(scale: TimeScale, room: number): number[] {
  const wanted = Math.max(2, Math.floor(room / 90));
  const steps = [5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200];
  const fill = (from: number, to: number, count: number): number[] => {
    const step = steps.find((value) => (to - from) / value <= Math.max(1, count)) ?? 14400;
    const list: number[] = [];
    for (let time = Math.ceil((from + 1e-9) / step) * step; time <= to; time += step) {
      list.push(time);
    }
    return list;
  };
  if (scale.breakTime === null) {
    return [0, ...fill(0, scale.end, wanted)];
  }
  return [0, ...fill(0, scale.breakTime, wanted * scale.breakShare), ...fill(scale.breakTime, scale.end, wanted * (1 - scale.breakShare))];
}
