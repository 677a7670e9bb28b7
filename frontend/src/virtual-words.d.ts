declare module "virtual:words" {
  const catalogue: Record<string, string>;
  export default catalogue;
}
