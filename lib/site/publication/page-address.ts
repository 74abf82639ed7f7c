import type { SiteRecord } from "../../records/types.ts";

/** The site's own address without a slash at its end; null where the record names none that readers could open. */
export function findSiteAddress(site: SiteRecord): string | null {
  return /^https?:\/\//i.test(site.baseUrl) ? site.baseUrl.replace(/\/+$/, "") : null;
}

/** Address of a train's page; null where the site has none. */
export function joinTrainAddress(site: SiteRecord, id: string): string | null {
  const base = findSiteAddress(site);
  return base === null ? null : `${base}/trains/${id}/`;
}
