// Small pictures of our own, 24 x 24, one stroke. Always beside words, so hidden from screen readers.
import { svg, html, type TemplateResult } from 'lit';

const icon = (drawing: TemplateResult): TemplateResult => html`<svg viewBox="0 0 24 24" fill="none" stroke="currentColor"
  stroke-width="1.8" stroke-linecap="round" stroke-linejoin="round" aria-hidden="true">${drawing}</svg>`;

export const icons = {
  /** Three posts of different height under one beam: the people one looks after. */
  caseload: icon(svg`<path d="M2.5 5h19M5 8.5V20M12 8.5V20M19 8.5V20M3.5 20h3M10.5 20h3M17.5 20h3"/>`),
  athlete: icon(svg`<path d="M4 4.5h16M8 4.5 12 11l4-6.5M12 11v5.5l3 4.5M12 16.5 9 21"/><circle cx="12" cy="6.5" r="1.6"/>`),
  film: icon(svg`<path d="M3 6.5h12.5v11H3zM15.5 10.5 21 7.5v9l-5.5-3"/><path d="M6.5 9.5v5" />`),
  tests: icon(svg`<path d="M5 20V4M5 20h15M5 16.5h2M5 13h3M5 9.5h2M5 6h3M18 20 9.5 8.5"/>`),
  why: icon(svg`<path d="M12 3v13" stroke-dasharray="1.5 3"/><path d="M12 20.5l-1.8-3.2h3.6zM12 17 18.5 5M15 4.5h6"/>`),
  what_if: icon(svg`<path d="M4 7h16M4 12h16M4 17h16"/><path d="M9 4.8v4.4M15.5 9.8v4.4M7 14.8v4.4" stroke-width="3"/>`),
  plan: icon(svg`<path d="M4 19h4v-4h4v-4h4V7h4"/><path d="M4 19V9M20 7v12M3 21.5h18"/>`),
  report: icon(svg`<path d="M6 3h9l4 4v14H6zM15 3v4h4M9 12h7M9 16h7"/>`),
  settings: icon(svg`<path d="M4 8h9M17 8h3M4 16h3M11 16h9"/><rect x="13" y="5.5" width="4" height="5"/><rect x="7" y="13.5" width="4" height="5"/>`),
  live: icon(svg`<path d="M4 4v16M20 4v16M4 7h16"/><circle cx="12" cy="14" r="3.2"/>`),
  add: icon(svg`<path d="M12 4v16M4 12h16"/>`),
  search: icon(svg`<circle cx="10.5" cy="10.5" r="6.5"/><path d="m15.5 15.5 5 5"/>`),
  back: icon(svg`<path d="M20 12H4M10 5.5 3.5 12l6.5 6.5"/>`),
  history: icon(svg`<path d="M4 12a8 8 0 1 0 2.6-5.9M4 4v4.4h4.4M12 7.5V12l3 2.4"/>`),
  onwards: icon(svg`<path d="M4 12h16M14 5.5l6.5 6.5-6.5 6.5"/>`),
  close: icon(svg`<path d="M5 5l14 14M19 5 5 19"/>`),
  take_out: icon(svg`<path d="M12 3v12M7 10.5l5 5 5-5M4 20.5h16"/>`),
  bring_in: icon(svg`<path d="M12 16V4M7 8.5l5-5 5 5M4 20.5h16"/>`),
  phone: icon(svg`<rect x="7" y="2.5" width="10" height="19"/><path d="M11 18.5h2"/>`),
  person: icon(svg`<circle cx="12" cy="7.5" r="3.5"/><path d="M4.5 20.5c1-5 4-7 7.5-7s6.5 2 7.5 7"/>`),
  lock: icon(svg`<path d="M5 11h14v9.5H5zM8 11V7.5a4 4 0 0 1 8 0V11"/>`),
  calendar: icon(svg`<path d="M4 6h16v14.5H4zM4 10.5h16M8.5 3v5M15.5 3v5"/>`),
  drills: icon(svg`<path d="M2.5 12h19M6 8v8M18 8v8M9 10v4M15 10v4"/>`),
  done: icon(svg`<path d="M4.5 12.5 10 18 20 6.5"/>`),
  more: icon(svg`<path d="M5 12h.01M12 12h.01M19 12h.01" stroke-width="3.4"/>`),
  undo: icon(svg`<path d="M4 9h10a6 6 0 0 1 0 12h-3M8.5 4.5 4 9l4.5 4.5"/>`),
};

/** The mark: a lintel with its plumb line. */
export const mark: TemplateResult = html`<svg viewBox="0 0 34 34" aria-hidden="true"><path fill="currentColor"
  d="M1 4h32v6H1zM4 10h5v20H4zM25 10h5v20h-5z"/><path d="M17 10v11" stroke="#f0965f" stroke-width="1.6"/><path
  d="M17 28.5l-3.4-5.6 1.7-2h3.4l1.7 2z" fill="#f0965f"/></svg>`;
