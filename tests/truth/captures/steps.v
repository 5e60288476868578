`timescale 1us / 100ns
module steps;
  reg clk = 0, dir = 0;
  reg [3:0] phases = 4'b0001;
  reg [7:0] count;
  real volts = 0.0;
  event turned;
  integer k;
  always #12.5 clk = ~clk;
  always @(posedge clk) begin
    phases <= dir ? {phases[0], phases[3:1]} : {phases[2:0], phases[3]};
    count <= count + 1;
    volts = volts + 0.25;
  end
  driver d (.in(phases), .en(~dir), .out());
  initial begin
    $dumpfile("steps.vcd");
    $dumpvars(0, steps);
    #60 count = 0;
    #110 dir = 1; -> turned;
    #100 $dumpoff;
    #50 $dumpon;
    #40 $dumpall;
    #40 phases = 4'bx;
    #40 $finish;
  end
endmodule
module driver(input [3:0] in, input en, output [3:0] out);
  assign out = en ? ~in : 4'bz;
endmodule
