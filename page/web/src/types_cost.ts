// SPDX-License-Identifier: GPL-3.0-or-later
// What `oilwright cost --json` says. Money is in the file's currency; the rest is SI.

export interface CostInput {
  key: string;
  label: string;
  /** What it is, in a sentence; the legal range, SI. */
  doc: string;
  least: number;
  most: number;
  value: number;
  low: number | null;
  high: number | null;
  spread: 'plain' | 'flat' | 'triangle' | 'bell';
  from: string;
  trust: string | null;
  text: string;
  text_us: string;
}
export interface CostLine { label: string; is_work: boolean; year: number; m3: number; m: number }
export interface CostSide { cost_year: number; cost_m3: number; cost_m: number; saving_year: number; running_year: number; npv: number; payback_years: number | null; payback_discounted_years: number | null; irr: number | null; flows: number[] }
export interface CostBand { label: string; points: (number | null)[] }
export type SideKey = 'unpaid' | 'counted';
export interface CostAnswer {
  name: string;
  currency: string;
  verdict: string;
  pays: boolean;
  counts_hours: boolean;
  years: number;
  year: { oil_m3: number; collected_m3: number; waste_m3: number; diesel_replaced_m3: number; distance_on_oil_m: number; pickups: number; batches: number; work_s: number; work_once_s: number };
  lines: CostLine[];
  diesel_year: number;
  diesel_m: number;
  sides: Record<SideKey, CostSide>;
  break_even: { diesel_price_m3: number | null; distance_m_year: number | null; oil_m3_year: number | null; hour_s: number | null };
  would_pay_with: { key: string; label: string; from: number; to: number; from_text: string; to_text: string }[];
  study: {
    samples: number;
    bands: Record<SideKey, Record<string, CostBand>>;
    chances: Record<SideKey, { worth_above_0: number; error: number; paid_back_within_years: number[] }>;
    influence: { key: string; label: string; total: number; low: number; high: number; npv_low: number; npv_high: number }[];
  };
  inputs: CostInput[];
  taken: { log: string; yard: string };
  notes: string[];
  meanings: string[];
}
