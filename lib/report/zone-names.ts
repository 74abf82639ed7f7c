/** Corners as they appear on the displayed frame, the zones of the field, and how sure a class is. */
export type Corner = "upperLeft" | "upperRight" | "lowerLeft" | "lowerRight";
export type Zone = "centre" | "middle" | "outer" | "corner" | Corner;
export type Confidence = { confidence: number }; // 0..1, calibrated
