import type { Quantity } from "../maths/quantity.ts";

/** A number beside those that the results format names: for a reader who wants to know more. */
export interface Extra {
  /** Fixed name, for links: "diffractionFwhm". */
  id: string;
  /** A few words, as a table's first column has them. */
  name: string;
  quantity: Quantity;
  /** One or two plain sentences: what it is, and what it is good for. */
  explanation: string;
}
