/** The channel that stands for the test: the only one, or green, where a colour-filter sensor has most sites. */
export function chooseMainChannel(channels: readonly string[]): string {
  return ["L", "G"].find((name) => channels.includes(name)) ?? channels[0] ?? "L";
}
