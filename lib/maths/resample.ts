/**
 * The draws again, each as often as its weight asks for (systematic resampling, Kitagawa 1996, J. Comput. Graph. Statist.
 * 5:1), in their order.
 */
export function resampleByWeight<T>(draws: readonly T[], weights: readonly number[]): T[] {
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  if (!(total > 0)) return [...draws];
  const resampled: T[] = [];
  let reached = 0;
  draws.forEach((draw, k) => {
    reached += weights[k];
    while (resampled.length < draws.length && (resampled.length + 0.5) / draws.length <= reached / total)
      resampled.push(draw);
  });
  return resampled;
}
