// SPDX-License-Identifier: GPL-3.0-or-later
// The time bar at the foot of the page: what the engine does, how thick the oil is at the pump, events; play, scrub, keys.
import { button, clear, h, s } from './dom';
import { fromShare, thickness, timeScale, timeTicks, toShare, type TimeScale } from './scale';
import { at, emit, sampleAt, state, timeNow } from './state';
import type { GoodRun, MorningEvent } from './types';
import { clock } from './units';

const PLAY_S = 24; // a whole morning takes this long to play
const MAIN = new Set(['key_on', 'ready', 'crank', 'start', 'start_failed', 'valve', 'stall', 'stop', 'end']);

const short: Record<string, string> = { key_on: 'key on', ready: 'oil ready', crank: 'crank', start: 'engine runs' };

export function eventText(event: MorningEvent): string {
  const word = short[event.kind] ?? event.text;
  return event.part && event.kind !== 'ready' ? `${event.part}: ${word}` : word;
}

/** Events with those that fall together joined into one entry. */
export function groupEvents(run: GoodRun): { time_s: number; text: string; main: boolean }[] {
  const list: { time_s: number; text: string; main: boolean }[] = [];
  for (const event of run.morning.events) {
    const text = event.kind === 'leg' ? `leg ${Math.round((event.value ?? 0) + 1)}` : eventText(event);
    const last = list[list.length - 1];
    if (last && Math.abs(last.time_s - event.time_s) < 0.05) {
      if (!last.text.split(', ').includes(text)) {
        last.text += `, ${text}`;
      }
      last.main ||= MAIN.has(event.kind);
    } else {
      list.push({ time_s: event.time_s, text, main: MAIN.has(event.kind) });
    }
  }
  return list;
}

export function createTimeBar(): { element: HTMLElement; draw(): void; time(): void } {
  const svg = s('svg', { class: 'time-svg', 'aria-hidden': 'true' });
  const slider = h('div', { class: 'time-slider', id: 'time', role: 'slider', tabindex: '0', 'aria-label': 'Time since key on', 'aria-orientation': 'horizontal' }, svg);
  const clockText = h('strong', { class: 'time-now' });
  const whatText = h('span', { class: 'time-what' });
  const play = button('Play', () => toggle(), 'main play');
  const previous = button('◀', () => jump(-1), 'event', { 'aria-label': 'Event before', title: 'Event before' });
  const next = button('▶', () => jump(1), 'event', { 'aria-label': 'Next event', title: 'Next event' });
  previous.append(h('span', { class: 'wide' }, ' Event'));
  next.prepend(h('span', { class: 'wide' }, 'Event '));
  const element = h('section', { class: 'time-bar', 'aria-label': 'Time' },
    h('div', { class: 'time-buttons' }, play, previous, next, h('div', { class: 'time-text' }, clockText, whatText)), slider);

  let scale: TimeScale = timeScale(1, null, null);
  let width = 600;
  let playing = 0;
  let lastWidth = 0;
  let share = 0;
  const thumb = s('g', { class: 'thumb' }, s('path', { d: 'M0 4V62' }), s('circle', { cx: 0, cy: 34, r: 11 }));
  const x = (time: number) => 12 + toShare(scale, time) * (width - 24);

  const setSample = (sample: number) => {
    const run = state.run;
    if (run) {
      state.sample = Math.min(Math.max(sample, 0), run.series.count - 1);
      emit('time');
    }
  };
  const jump = (direction: 1 | -1) => {
    const run = state.run;
    if (!run) {
      return;
    }
    const list = groupEvents(run);
    const now = timeNow();
    const found = direction > 0 ? list.find((event) => event.time_s > now + 0.2) : [...list].reverse().find((event) => event.time_s < now - 0.2);
    if (found) {
      const sample = sampleAt(run, found.time_s);
      setSample(sample === state.sample ? sample + direction : sample);
    }
  };
  const stop = () => {
    window.cancelAnimationFrame(playing);
    playing = 0;
    play.textContent = 'Play';
  };
  const toggle = () => {
    const run = state.run;
    if (playing || !run) {
      stop();
      return;
    }
    play.textContent = 'Pause';
    share = toShare(scale, timeNow());
    if (share > 0.995) {
      share = 0;
    }
    let before = performance.now();
    const step = (now: number) => {
      share += (now - before) / 1000 / PLAY_S;
      before = now;
      if (!state.run || share >= 1) {
        setSample(Infinity);
        stop();
        return;
      }
      const sample = sampleAt(state.run, fromShare(scale, share));
      if (sample !== state.sample) {
        setSample(sample);
      }
      playing = window.requestAnimationFrame(step);
    };
    playing = window.requestAnimationFrame(step);
  };

  const fromPointer = (event: PointerEvent) => {
    if (state.run) {
      const box = svg.getBoundingClientRect();
      setSample(sampleAt(state.run, fromShare(scale, (event.clientX - box.left - 12) / (box.width - 24))));
    }
  };
  slider.addEventListener('pointerdown', (event) => {
    stop();
    slider.setPointerCapture(event.pointerId);
    fromPointer(event);
  });
  slider.addEventListener('pointermove', (event) => {
    if (slider.hasPointerCapture(event.pointerId)) {
      fromPointer(event);
    }
  });
  slider.addEventListener('keydown', (event) => {
    const moves: Record<string, () => void> = {
      ArrowRight: () => setSample(state.sample + 1), ArrowUp: () => setSample(state.sample + 1),
      ArrowLeft: () => setSample(state.sample - 1), ArrowDown: () => setSample(state.sample - 1),
      PageUp: () => jump(1), PageDown: () => jump(-1), Home: () => setSample(0), End: () => setSample(Infinity), ' ': toggle,
    };
    const move = moves[event.key];
    if (move && !event.ctrlKey && !event.altKey && !event.metaKey) {
      event.preventDefault();
      if (event.key !== ' ') {
        stop();
      }
      move();
    }
  });

  const draw = () => {
    const run = state.run;
    width = Math.max(280, lastWidth || slider.clientWidth);
    svg.setAttribute('viewBox', `0 0 ${width} 84`);
    svg.setAttribute('width', String(width));
    svg.setAttribute('height', '84');
    svg.replaceChildren();
    if (!run) {
      return;
    }
    scale = timeScale(run.morning.end_s, run.morning.start_s, run.morning.ready_s);
    const { time_s: times } = run.series;
    // What the engine does.
    const words = ['key on, oil warms', 'cranking', 'engine runs'];
    const span = (from: number, to: number, kind: string, height: number, y: number) => s('rect', { x: x(times[from]), y, width: Math.max(0.5, x(times[to]) - x(times[from])), height, class: kind });
    for (let from = 0; from < times.length - 1; ) {
      const engine = at(run.series.engine, from) ?? 0;
      let to = from + 1;
      while (to < times.length - 1 && at(run.series.engine, to) === engine) {
        to += 1;
      }
      svg.append(span(from, to, `engine e${engine}`, 20, 4));
      if (x(times[to]) - x(times[from]) > 110) {
        svg.append(s('text', { x: x(times[from]) + 8, y: 19, class: 'time-word' }, words[engine] ?? ''));
      }
      from = to;
    }
    // How thick the oil is at the pump: colour and height together.
    for (let from = 0; from < times.length - 1; ) {
      const level = (sample: number) => {
        const limit = at(run.series.inlet_limit_m2_s, sample);
        const value = at(run.series.inlet_kinematic_m2_s, sample);
        return limit === null || value === null ? null : thickness(value / limit);
      };
      const here = level(from);
      let to = from + 1;
      while (to < times.length - 1 && level(to) === here) {
        to += 1;
      }
      if (here !== null) {
        const height = 6 + here * 5;
        svg.append(span(from, to, `strip n${here}`, height, 56 - height));
      }
      from = to;
    }
    for (const tick of timeTicks(scale, width)) {
      svg.append(s('path', { d: `M${x(tick)} 58v7`, class: 'tick-line' }), s('text', { x: Math.min(Math.max(x(tick), 8), width - 28), y: 80, class: 'tick', 'text-anchor': tick === 0 ? 'start' : 'middle' }, tick === 0 ? '0' : clock(tick)));
    }
    if (scale.breakTime !== null) {
      const at_x = x(scale.breakTime);
      svg.append(s('rect', { x: at_x - 4, y: 2, width: 8, height: 57, class: 'break-gap' }), s('path', { d: `M${at_x - 7} 62l6 -8M${at_x + 1} 62l6 -8`, class: 'break' }), s('path', { d: `M${at_x - 4} 2V58M${at_x + 4} 2V58`, class: 'break-line' }));
    }
    for (const event of groupEvents(run)) {
      svg.append(event.main
        ? s('path', { d: `M${x(event.time_s)} 58V26m0 0l${x(event.time_s) > width - 30 ? -6 : 6} 5 ${x(event.time_s) > width - 30 ? 6 : -6} 5`, class: 'event-flag' })
        : s('path', { d: `M${x(event.time_s)} 58v-8`, class: 'event-tick' }));
    }
    svg.append(thumb);
    slider.setAttribute('aria-valuemin', '0');
    slider.setAttribute('aria-valuemax', String(Math.round(run.morning.end_s)));
    time();
  };

  const time = () => {
    const run = state.run;
    if (!run) {
      clockText.textContent = '';
      whatText.textContent = '';
      return;
    }
    const now = timeNow();
    const before = [...groupEvents(run)].reverse().find((event) => event.time_s <= now + 0.05);
    thumb.setAttribute('transform', `translate(${x(now).toFixed(1)} 0)`);
    clockText.textContent = clock(now);
    whatText.textContent = before ? before.text : '';
    slider.setAttribute('aria-valuenow', String(Math.round(now)));
    slider.setAttribute('aria-valuetext', `${clock(now)}${before ? `, ${before.text}` : ''}`);
  };
  new ResizeObserver(() => {
    if (slider.clientWidth !== lastWidth) {
      lastWidth = slider.clientWidth;
      draw();
    }
  }).observe(slider);
  clear(svg);
  return { element, draw, time };
}
