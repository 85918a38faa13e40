// Small pictures for the visit, drawn with the same straight posts and beams as everything else.
import { svg, html, type TemplateResult } from 'lit';

const shapes: Record<string, string> = {
  camera: 'M3 9h7l2-3h8l2 3h7v17H3zM16 12l5 5-5 5-5-5z',
  film: 'M4 6h24v20H4zM4 12h24M10 6l3 6M18 6l3 6M14 16l6 3.5-6 3.500z',
  phone: 'M9 3h14v26H9zM13 25h6M16 8v8M12.500 12.500 16 16l3.500-3.500',
  live: 'M4 8h16v16H4zM20 13l8-4v14l-8-4M9 16h6M12 13v6',
  onward: 'M12 7l9 9-9 9',
  play: 'M9 6l17 10-17 10z',
  pause: 'M10 6v20M22 6v20',
  back: 'M23 6 10 16l13 10zM7 6v20',
  forth: 'M9 6l13 10L9 26zM25 6v20',
  bottom: 'M16 4v16M10 15l6 6 6-6M5 27h22',
  undo: 'M7 13h13a6 6 0 0 1 0 12h-8M7 13l6-6M7 13l6 6',
  plus: 'M16 6v20M6 16h20',
  less: 'M6 16h20',
  photo: 'M3 9h7l2-3h8l2 3h7v17H3zM10 21 16 12l7 6',
  down: 'M16 4v18M9 15l7 7 7-7M5 28h22',
  sound: 'M5 12h6l7-6v20l-7-6H5zM22 12l4 4-4 4',
  mute: 'M5 12h6l7-6v20l-7-6H5zM22 12l6 8M28 12l-6 8',
  check: 'M6 16l7 8L26 8',
  page: 'M7 3h13l5 5v21H7zM20 3v5h5M11 15h10M11 20h10M11 25h6',
  calendar: 'M4 7h24v21H4zM4 13h24M10 3v6M22 3v6M9 18h4v4H9z',
  earlier: 'M16 27V6M8 14l8-8 8 8',
  later: 'M16 5v21M8 18l8 8 8-8',
  table: 'M4 6h24v20H4zM4 13h24M4 19.500h24M13 6v20',
};

export function icon(name: keyof typeof shapes & string): TemplateResult {
  return html`<svg class="icon" viewBox="0 0 32 32" aria-hidden="true" focusable="false">${svg`<path d=${shapes[name] ?? ''}/>`}</svg>`;
}
