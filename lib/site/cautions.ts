/** Said once on every train's page; general safety of the trade, not legal advice. */
export const safetyCautions: readonly string[] = [
  "Never point a telescope, finder or camera at the Sun without a certified filter over the full aperture. Cap the finder by day.",
  "Heavy tubes need two people. Counterweights go on before the tube and come off after it; never loosen a clutch while the tube is out of balance.",
  "Mains current outdoors belongs behind a residual-current device, with connectors off the ground and out of the dew.",
  "Laser pointers near aircraft are a danger and in many places an offence. Ask the local rules and qualified people before using one at all.",
];
