import { mirrorZone } from '../head/index.js';
import type { Zone } from '../zones.js';
import type { Anchor, CutFormula, CutStep, Held, LandmarkName, OverDirection } from './formula.js';

/** The same cut with the client's left and right exchanged. */
export function mirrorFormula(formula: CutFormula): CutFormula {
  return {
    steps: formula.steps.map(mirrorStep),
    ...(formula.connections && {
      connections: formula.connections.map((connection) => ({
        ...connection,
        between: [mirrorZone(connection.between[0]), mirrorZone(connection.between[1])] as const,
      })),
    }),
    ...(formula.measuredMm && {
      measuredMm: Object.fromEntries(
        Object.entries(formula.measuredMm).map(([zone, mm]) => [mirrorZone(zone as Zone), mm]),
      ),
    }),
  };
}

function mirrorStep(step: CutStep): CutStep {
  const zones = step.zones.map(mirrorZone);
  switch (step.kind) {
    case 'travelling':
      return {
        ...step,
        zones,
        guide: step.guide.kind === 'zone' ? { kind: 'zone', zone: mirrorZone(step.guide.zone) } : step.guide,
        ...(step.overDirection && {
          overDirection: { ...step.overDirection, towards: otherSide(step.overDirection.towards) },
        }),
      };
    case 'stationary':
      return {
        ...step,
        zones,
        anchor: mirrorAnchor(step.anchor),
        ...(step.held && { held: otherSide(step.held) }),
      };
    case 'natural-fall':
      return {
        ...step,
        zones,
        anchor: mirrorAnchor(step.anchor),
        ...(step.dropToLeftDegrees !== undefined && { dropToLeftDegrees: -step.dropToLeftDegrees }),
      };
    case 'held-up':
      return { ...step, zones, anchor: mirrorAnchor(step.anchor) };
    default:
      return { ...step, zones };
  }
}

function otherSide<T extends Held | OverDirection['towards']>(side: T): T {
  if (side === 'left') return 'right' as T;
  if (side === 'right') return 'left' as T;
  return side;
}

function mirrorAnchor(anchor: Anchor): Anchor {
  if (typeof anchor !== 'string') return { x: -anchor.x, y: anchor.y, z: anchor.z };
  if (anchor.endsWith('Left')) return anchor.replace('Left', 'Right') as LandmarkName;
  return anchor.replace('Right', 'Left') as LandmarkName;
}
