/** Absolute places of a path of relative steps, as an SVG reader works them out. */
export function readSteps(path: string): [number, number][] {
  const places: [number, number][] = [];
  let [x, y] = [0, 0];
  const numbers = [...path.replaceAll("h0", " ").matchAll(/-?(?:\d+\.?\d*|\.\d+)/g)].map(Number);
  for (let k = 0; k < numbers.length; k += 2) {
    [x, y] = [x + numbers[k], y + numbers[k + 1]];
    places.push([x, y]);
  }
  return places;
}
