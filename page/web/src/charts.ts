// SPDX-License-Identifier: GPL-3.0-or-later
// Time charts with uPlot in the page's own colours; the cursor is the page's own moment.
import uPlot from 'uplot';
import { h } from './dom';
import { emit, sampleAt, state } from './state';
import { clock, digits } from './units';

export interface Line { label: string; data: (number | null)[]; color: string; dash?: number[]; width?: number; scale?: string; step?: boolean }
export interface ChartOptions {
  title: string;
  x: number[];
  lines: Line[];
  unit: string;
  time: boolean;
  xLabel?: string;
  log?: boolean;
  height?: number;
  right?: string;
}

export function cssColor(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

/** The index of the point nearest to a value, of rising ones. */
function nearest(rising: number[], value: number): number {
  let found = 0;
  rising.forEach((x, index) => {
    found = Math.abs(x - value) < Math.abs(rising[found] - value) ? index : found;
  });
  return found;
}

/** A chart that fits its box. The words under it say the same for those who do not see it. */
export function chart(options: ChartOptions): { element: HTMLElement; draw(): void; canvas(): HTMLCanvasElement | null } {
  const box = h('div', { class: 'chart-box' });
  const element = h('figure', { class: 'chart' }, h('figcaption', {}, options.title), box);
  let plot: uPlot | null = null;
  const draw = () => {
    plot?.destroy();
    const ink = cssColor('--ink');
    const faint = cssColor('--rule');
    const font = '15px system-ui, sans-serif';
    const axis = { stroke: ink, grid: { stroke: faint, width: 1 }, ticks: { stroke: faint, width: 1 }, font, size: 62 };
    const plotOptions: uPlot.Options = {
      width: Math.max(260, box.clientWidth),
      height: options.height ?? 250,
      cursor: { drag: { x: false, y: false }, points: { size: 9 } },
      legend: { live: true },
      scales: { x: { time: false }, y: options.log ? { distr: 3 } : {}, ...(options.right ? { right: {} } : {}) },
      axes: [
        { ...axis, size: 42, values: (_, list) => list.map((value) => (options.time ? clock(value) : digits(value))), space: 90, ...(options.time ? { incrs: [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400] } : {}), ...(options.xLabel ? { label: options.xLabel, labelFont: font, labelSize: 26 } : {}) },
        { ...axis, label: options.unit, labelFont: font, labelSize: 26, values: (_, list) => list.map((value) => (value === null ? '' : digits(value))) },
        ...(options.right ? [{ ...axis, scale: 'right', side: 1 as const, grid: { show: false }, label: options.right, labelFont: font, labelSize: 26, values: (_: uPlot, list: (number | null)[]) => list.map((value) => (value === null ? '' : digits(value))) }] : []),
      ],
      series: [
        { label: options.time ? 'Time' : (options.xLabel ?? 'x'), value: (_, value) => (value === null ? '–' : options.time ? clock(value) : digits(value, 1)) },
        ...options.lines.map((line) => ({
          label: line.label, stroke: line.color, width: line.width ?? 2.5, ...(line.dash ? { dash: line.dash } : {}), scale: line.scale ?? 'y', ...(line.step && uPlot.paths.stepped ? { paths: uPlot.paths.stepped({ align: 1 }) } : {}), points: { show: false },
          value: (_: uPlot, value: number | null) => (value === null ? '–' : digits(value)),
        })),
      ],
      hooks: {
        setCursor: [(u) => { // away from the chart the legend tells the moment of the page
          if (options.time && (u.cursor.left ?? -1) < 0) {
            tell(u);
          }
        }],
        draw: [(u) => {
          if (options.time && state.run) {
            const time = state.run.series.time_s[state.sample];
            const left = u.valToPos(time, 'x', true);
            u.ctx.save();
            u.ctx.strokeStyle = ink;
            u.ctx.lineWidth = 2;
            u.ctx.setLineDash([]);
            u.ctx.beginPath();
            u.ctx.moveTo(left, u.bbox.top);
            u.ctx.lineTo(left, u.bbox.top + u.bbox.height);
            u.ctx.stroke();
            u.ctx.restore();
          }
        }],
      },
    };
    const tell = (u: uPlot) => state.run && u.setLegend({ idx: nearest(options.x, state.run.series.time_s[state.sample]) }, false);
    plot = new uPlot(plotOptions, [options.x, ...options.lines.map((line) => line.data)] as uPlot.AlignedData, box);
    if (options.time) {
      tell(plot);
      plot.over.addEventListener('click', (event) => {
        if (plot && state.run) {
          state.sample = sampleAt(state.run, plot.posToVal(event.offsetX, 'x'));
          emit('time');
        }
      });
    }
  };
  let lastWidth = 0;
  new ResizeObserver(() => {
    if (box.clientWidth > 0 && box.clientWidth !== lastWidth) {
      lastWidth = box.clientWidth;
      draw();
    }
  }).observe(box);
  return { element, draw: () => {
    if (plot) {
      plot.redraw(false);
      if (options.time && state.run && (plot.cursor.left ?? -1) < 0) {
        plot.setLegend({ idx: nearest(options.x, state.run.series.time_s[state.sample]) }, false);
      }
    } else {
      draw();
    }
  }, canvas: () => box.querySelector('canvas') };
}

/** A column made whole: one number becomes as many as there are samples. */
export function spread(column: number | null | (number | null)[], count: number): (number | null)[] {
  return Array.isArray(column) ? column : Array.from({ length: count }, () => column);
}
