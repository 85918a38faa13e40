// Styles that depend on data. `style="..."` and lit's styleMap write an attribute, which the Content-Security-Policy
// refuses; this writes through the object model, which it allows.
import { noChange } from 'lit';
import { Directive, directive, PartType, type ElementPart, type PartInfo } from 'lit/directive.js';

class Look extends Directive {
  private before: Record<string, string | number | undefined> = {};
  constructor(part: PartInfo) {
    super(part);
    if (part.type !== PartType.ELEMENT) throw new Error('look() stands in the tag: <div ${look({...})}>');
  }
  render(_styles: Record<string, string | number | undefined>) { return noChange; }
  override update(part: ElementPart, [styles]: [Record<string, string | number | undefined>]) {
    const style = (part.element as HTMLElement | SVGElement).style;
    for (const name of Object.keys(this.before)) if (!(name in styles)) style.removeProperty(name);
    for (const [name, value] of Object.entries(styles)) {
      if (value === this.before[name]) continue;
      if (value === undefined) style.removeProperty(name);
      else style.setProperty(name, String(value));
    }
    this.before = styles;
    return noChange;
  }
}
/** `<div ${look({ width: '40%', '--share': 0.4 })}>`: CSS names with dashes. */
export const look = directive(Look);
