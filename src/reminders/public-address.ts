import { lookup as resolve } from 'node:dns';
import { BlockList, isIP, type LookupFunction } from 'node:net';

/** IANA special-purpose address registries (RFC 6890 and later): nothing there is a public server. */
const NOT_PUBLIC: readonly (readonly [string, number, 'ipv4' | 'ipv6'])[] = [
  ['0.0.0.0', 8, 'ipv4'],
  ['10.0.0.0', 8, 'ipv4'],
  ['100.64.0.0', 10, 'ipv4'],
  ['127.0.0.0', 8, 'ipv4'],
  ['169.254.0.0', 16, 'ipv4'],
  ['172.16.0.0', 12, 'ipv4'],
  ['192.0.0.0', 24, 'ipv4'],
  ['192.0.2.0', 24, 'ipv4'],
  ['192.88.99.0', 24, 'ipv4'],
  ['192.168.0.0', 16, 'ipv4'],
  ['198.18.0.0', 15, 'ipv4'],
  ['198.51.100.0', 24, 'ipv4'],
  ['203.0.113.0', 24, 'ipv4'],
  ['224.0.0.0', 4, 'ipv4'],
  ['240.0.0.0', 4, 'ipv4'],
  ['::', 96, 'ipv6'],
  ['64:ff9b::', 96, 'ipv6'],
  ['64:ff9b:1::', 48, 'ipv6'],
  ['100::', 64, 'ipv6'],
  ['2001::', 23, 'ipv6'],
  ['2001:db8::', 32, 'ipv6'],
  ['2002::', 16, 'ipv6'],
  ['3fff::', 20, 'ipv6'],
  ['fc00::', 7, 'ipv6'],
  ['fe80::', 10, 'ipv6'],
  ['ff00::', 8, 'ipv6'],
];

const blocked = new BlockList();
for (const [net, bits, family] of NOT_PUBLIC) blocked.addSubnet(net, bits, family);

/** Whether a literal IP address is one of the open internet. IPv4 written as IPv6 counts as the IPv4 it is. */
export function isPublicAddress(address: string): boolean {
  const family = isIP(address);
  return family !== 0 && !blocked.check(address, family === 4 ? 'ipv4' : 'ipv6');
}

/**
 * Resolves a name for a connection that must not reach into a private network, whatever the name says today:
 * the address that is checked is the address that is connected to.
 */
export const lookupPublic: LookupFunction = (hostname, options, done) => {
  resolve(hostname, { ...options, all: true }, (error, addresses) => {
    const found = error ? [] : addresses.filter(({ address }) => isPublicAddress(address));
    const [first] = found;
    if (!first) {
      const refusal = error ?? new Error(`${hostname} has no public address.`);
      return options.all ? done(refusal, []) : done(refusal, '', 0);
    }
    return options.all ? done(null, found) : done(null, first.address, first.family);
  });
};
