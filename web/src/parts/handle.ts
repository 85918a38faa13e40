// A point on a picture that is moved by finger, mouse or keys. Places are in pixels of the picture, not of the screen.
export type Place = readonly [number, number];

/** Follows the pointer that has just gone down on a handle until it lets go; a touch that does not move moves nothing. */
export function followPointer(event: PointerEvent, screen: Element, picture: { width: number; height: number },
  move: (to: Place, done: boolean) => void): void {
  const handle = event.currentTarget as HTMLElement;
  const box = screen.getBoundingClientRect();
  const place = (e: PointerEvent): Place => [((e.clientX - box.left) / box.width) * picture.width, ((e.clientY - box.top) / box.height) * picture.height];
  const start = place(event);
  let last: Place | undefined;
  handle.setPointerCapture(event.pointerId);
  const follow = (e: PointerEvent) => {
    const to = place(e);
    if (!last && Math.hypot(to[0] - start[0], to[1] - start[1]) < 2) return;
    last = to;
    move(to, false);
  };
  const end = () => {
    handle.removeEventListener('pointermove', follow);
    handle.removeEventListener('pointerup', end);
    handle.removeEventListener('pointercancel', end);
    if (last) move(last, true);
  };
  handle.addEventListener('pointermove', follow);
  handle.addEventListener('pointerup', end);
  handle.addEventListener('pointercancel', end);
}

/** Where an arrow key takes the point: one pixel, ten with Shift; undefined for any other key. */
export function nudged(event: KeyboardEvent, at: Place): Place | undefined {
  const step = event.shiftKey ? 10 : 1;
  const by: Record<string, Place> = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
  const move = by[event.key];
  if (!move) return undefined;
  event.preventDefault();
  return [at[0] + move[0], at[1] + move[1]];
}
