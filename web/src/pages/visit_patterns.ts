// The parts of the lean as patterns: colour and line, never colour alone. Same order and look as on paper.
import { svg, type SVGTemplateResult } from 'lit';

export const patternCount = 8;
const names = ['harbour', 'timber', 'slate', 'heather', 'granite', 'timber', 'harbour', 'granite'] as const;

/** Fill for part `index`; `scope` is the id prefix of the SVG that holds the definitions. */
export function patternFill(scope: string, index: number): string {
  return `url(#${scope}-${((index % patternCount) + patternCount) % patternCount})`;
}

// Lines of the patterns in a cell of 10 x 10.
const lines: readonly string[] = [
  '',
  'M-1 11L11 -1M-1 1L1 -1M9 11L11 9',
  'M-1 -1L11 11M-1 9L1 11M9 -1L11 1',
  'M2.5 0V10M7.5 0V10',
  'M0 2.5H10M0 7.5H10',
  'M-1 11L11 -1M-1 -1L11 11',
  'M2.5 1V4M7.5 6V9',
  'M0 5H10M5 0V10',
];

/** Definitions for one SVG; `unit` scales the cells. */
export function patternDefinitions(scope: string, unit = 1): SVGTemplateResult {
  return svg`<defs>${names.map((name, i) => svg`
    <pattern id="${scope}-${i}" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="scale(${unit})">
      <rect class="pattern-ground ${name} ${i === 0 ? 'full' : ''}" x="-1" y="-1" width="12" height="12"/>
      <path class="pattern-line ${name}" d=${lines[i]!}/>
    </pattern>`)}</defs>`;
}
