/** From where the head is looked at. `right` and `left` are profiles from the client's own right and left. */
export const VIEWS = ['right', 'left', 'back', 'front'] as const;
export type View = (typeof VIEWS)[number];

/**
 * How head coordinates (x right, y forward, z up) turn into those of a drawing: u to the viewer's right, v up = z, depth
 * towards the viewer; all mm.
 */
export interface Projection {
  readonly uOfX: number;
  readonly uOfY: number;
  readonly depthOfX: number;
  readonly depthOfY: number;
}

export const PROJECTIONS: Readonly<Record<View, Projection>> = {
  right: { uOfX: 0, uOfY: 1, depthOfX: 1, depthOfY: 0 },
  left: { uOfX: 0, uOfY: -1, depthOfX: -1, depthOfY: 0 },
  back: { uOfX: 1, uOfY: 0, depthOfX: 0, depthOfY: -1 },
  front: { uOfX: -1, uOfY: 0, depthOfX: 0, depthOfY: 1 },
};
