/** The one-file build of mathjs; it exports what the package does. */
declare module "mathjs/lib/browser/math.js" {
  import type * as mathjs from "mathjs";

  const bundle: typeof mathjs;
  export default bundle;
}
